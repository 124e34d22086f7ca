import type { Queryable } from '../../database/transaction.ts';
import { plannedCrew } from '../../games/planned-crew.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { ReportNotFound } from '../filing/filing.ts';
import { currentRubricVersion, dutiesOf, workingCrew } from '../filing/report-material.ts';
import type { ReportState } from '../states.ts';
import type { EntryConflict, EntryMark, EntryPlay, EntrySnapshot } from './entry-snapshot.ts';

type Head = {
  state: ReportState;
  revision: number;
  returned_reason: string | null;
  general_comment: string;
  rubric_version_id: string | null;
  season_id: string;
  game_id: string;
  week: number;
  kickoff: Date;
  time_zone: string;
  film_link: string | null;
  crew_confirmed: boolean;
  home: string;
  visiting: string;
};

/** Everything the entry page works with. Read it in one transaction, so that its parts agree. */
export async function entrySnapshot(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<EntrySnapshot> {
  const { rows } = await client.query<Head>(
    `SELECT r.state, r.revision, r.returned_reason, r.general_comment, r.rubric_version_id, r.season_id, r.game_id,
            g.week, g.kickoff, v.time_zone, g.film_link, g.crew_confirmed_at IS NOT NULL AS crew_confirmed,
            teams.home, teams.visitor AS visiting
       FROM report r
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE r.conference_id = $1 AND r.id = $2`,
    [conferenceId, reportId],
  );
  const head = rows[0];
  if (!head) throw new ReportNotFound();
  const versionId =
    head.rubric_version_id && head.state !== 'returned'
      ? head.rubric_version_id
      : await currentRubricVersion(client, conferenceId, head.season_id);
  return {
    report: {
      id: reportId,
      state: head.state,
      revision: head.revision,
      returnedReason: head.returned_reason,
      generalComment: head.general_comment,
    },
    game: {
      id: head.game_id,
      title: `${head.visiting} at ${head.home}`,
      week: head.week,
      kickoff: head.kickoff.toISOString(),
      timeZone: head.time_zone,
      filmLink: head.film_link,
    },
    crewConfirmed: head.crew_confirmed,
    crew: await workingCrew(client, conferenceId, head.game_id),
    planned: await plannedCrew(client, conferenceId, head.game_id),
    officials: await officials(client, conferenceId),
    duties: versionId ? await dutiesOf(client, conferenceId, versionId) : [],
    plays: await plays(client, conferenceId, head.game_id),
    marks: await marks(client, conferenceId, reportId),
    conflicts: await openConflicts(client, conferenceId, reportId),
  };
}

async function officials(client: Queryable, conferenceId: string) {
  const { rows } = await client.query<{ personId: string; name: string }>(
    `SELECT p.id AS "personId", p.given_name || ' ' || p.family_name AS name
       FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1 AND r.role = 'official' ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId],
  );
  return rows;
}

async function plays(client: Queryable, conferenceId: string, gameId: string): Promise<EntryPlay[]> {
  const { rows } = await client.query<
    PlayColumns & {
      id: string;
      number: number;
      film_seconds: number | null;
      note: string;
      change_id: string | null;
    }
  >('SELECT * FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number', [
    conferenceId,
    gameId,
  ]);
  return rows.map((row) => ({
    playId: row.id,
    number: row.number,
    play: playOf(row),
    filmSeconds: row.film_seconds,
    note: row.note,
    changeId: row.change_id,
  }));
}

async function marks(client: Queryable, conferenceId: string, reportId: string): Promise<EntryMark[]> {
  const { rows } = await client.query<EntryMark>(
    `SELECT id AS "markId", play_id AS "playId", position, duty_key AS "dutyKey", finding, comment,
            change_id AS "changeId"
       FROM observation WHERE conference_id = $1 AND report_id = $2 AND removed_at IS NULL ORDER BY id`,
    [conferenceId, reportId],
  );
  return rows;
}

async function openConflicts(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<EntryConflict[]> {
  const { rows } = await client.query<{
    id: string;
    kind: string;
    content: Record<string, unknown>;
    theirs: Record<string, unknown>;
    received_at: Date;
  }>(
    `SELECT c.id, c.kind, c.content, c.theirs, c.received_at FROM report_change c
      WHERE c.conference_id = $1 AND c.report_id = $2 AND c.outcome = 'conflict'
        AND NOT EXISTS (SELECT FROM report_change r
                         WHERE r.conference_id = c.conference_id AND r.report_id = c.report_id AND r.resolves = c.id)
      ORDER BY c.received_at, c.id`,
    [conferenceId, reportId],
  );
  return rows.map((row) => ({
    changeId: row.id,
    kind: row.kind,
    mine: row.content,
    theirs: row.theirs,
    receivedAt: row.received_at.toISOString(),
  }));
}
