import type { Queryable } from '../../database/transaction.ts';
import { commonPractice } from '../../duties/duty.ts';
import { everybodyWatched, type Watched } from '../../duties/watched.ts';
import type { Position } from '../../football/positions.ts';
import { usualPractices } from '../../football/practices.ts';
import { plannedCrew } from '../../games/planned-crew.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { readCountedRubric } from '../../rubric/read-rubric.ts';
import type { CountedRubric } from '../../rubric/rubric.ts';
import { handedInStates } from '../../schedule/open-states.ts';
import { currentRubricVersion, workingCrew } from '../filing/counted-material.ts';
import { ReportNotFound } from '../refusals.ts';
import type { ReportState } from '../states.ts';
import type { EntryConflict, EntryMark, EntryPlay, EntrySnapshot } from './entry-snapshot.ts';

type Head = {
  state: ReportState;
  revision: number;
  returned_reason: string | null;
  general_comment: string;
  watched: Watched | null;
  decided_share_least: number;
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
  crew_size: number;
  final_score: { home: number; visitor: number } | null;
};

/** Everything the entry page works with. Read it in one transaction, so that its parts agree. */
export async function entrySnapshot(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<EntrySnapshot> {
  const { rows } = await client.query<Head>(
    `SELECT r.state, r.revision, r.returned_reason, r.general_comment, r.watched, r.rubric_version_id, ${ofTheGame}
       FROM report r ${joinGame('r.game_id')}
      WHERE r.conference_id = $1 AND r.id = $2`,
    [conferenceId, reportId],
  );
  return snapshotUnder(client, conferenceId, reportId, rows[0]);
}

/**
 * What the report would show that this observer has not opened yet, so that their device can begin it without a
 * network: under the id the device made for it. Of a report that is there, that one.
 */
export async function snapshotToBegin(
  client: Queryable,
  conferenceId: string,
  of: { readonly gameId: string; readonly observerId: string; readonly reportId: string },
): Promise<EntrySnapshot> {
  const { rows } = await client.query<Head & { report_id: string | null }>(
    `SELECT r.id AS report_id, COALESCE(r.state, 'draft') AS state, COALESCE(r.revision, 1) AS revision,
            r.returned_reason, COALESCE(r.general_comment, '') AS general_comment,
            CASE WHEN r.id IS NULL AND a.how IS DISTINCT FROM 'in person' THEN $4::jsonb ELSE r.watched END AS watched,
            r.rubric_version_id, ${ofTheGame}
       FROM (VALUES (1)) one ${joinGame('$2')}
       LEFT JOIN report r ON r.conference_id = $1 AND r.game_id = g.id AND r.observer_id = $3
       LEFT JOIN observer_assignment a ON a.conference_id = $1 AND a.game_id = g.id AND a.observer_id = $3`,
    [conferenceId, of.gameId, of.observerId, JSON.stringify(everybodyWatched)],
  );
  return snapshotUnder(client, conferenceId, rows[0]?.report_id ?? of.reportId, rows[0]);
}

const ofTheGame = `c.decided_share_least, g.season_id, g.id AS game_id, g.week, g.kickoff, v.time_zone, g.film_link,
            g.crew_confirmed_at IS NOT NULL AS crew_confirmed, teams.home, teams.visitor AS visiting,
            s.crew_size, CASE WHEN g.home_points IS NOT NULL
                 THEN jsonb_build_object('home', g.home_points, 'visitor', g.visitor_points) END AS final_score`;
const joinGame = (gameId: string) => `
       JOIN game g ON g.conference_id = $1 AND g.id = ${gameId}
       JOIN conference c ON c.id = g.conference_id
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id`;

async function snapshotUnder(
  client: Queryable,
  conferenceId: string,
  reportId: string,
  head: Head | undefined,
): Promise<EntrySnapshot> {
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
      watched: head.watched,
    },
    game: {
      id: head.game_id,
      title: `${head.visiting} at ${head.home}`,
      home: head.home,
      visitor: head.visiting,
      week: head.week,
      kickoff: head.kickoff.toISOString(),
      timeZone: head.time_zone,
      filmLink: head.film_link,
      finalScore: head.final_score,
      crewSize: head.crew_size,
    },
    decidedShareLeast: head.decided_share_least,
    crewConfirmed: head.crew_confirmed,
    crew: await workingCrew(client, conferenceId, head.game_id),
    planned: await plannedCrew(client, conferenceId, head.game_id),
    officials: await officials(client, conferenceId, head.season_id),
    ...(versionId ? withoutGuidance(await readCountedRubric(client, conferenceId, versionId)) : noRubric),
    missedBefore: await missedBefore(client, conferenceId, head.season_id),
    plays: await plays(client, conferenceId, head.game_id),
    marks: await marks(client, conferenceId, reportId),
    conflicts: await openConflicts(client, conferenceId, reportId),
  };
}

/** Half of what a rubric weighs; nobody reads it while entering. */
const withoutGuidance = (rubric: CountedRubric): CountedRubric => ({
  ...rubric,
  duties: rubric.duties.map((duty) => ({ ...duty, guidance: '', source: commonPractice })),
});

const noRubric: CountedRubric = { code: 'college', practices: usualPractices, duties: [] };

async function officials(client: Queryable, conferenceId: string, seasonId: string) {
  const { rows } = await client.query<{ personId: string; name: string; usually: Position | null }>(
    `SELECT p.id AS "personId", p.given_name || ' ' || p.family_name AS name,
            (SELECT m.position FROM crew_member m
               JOIN crew c ON c.conference_id = m.conference_id AND c.id = m.crew_id
              WHERE m.conference_id = $1 AND m.person_id = p.id AND c.season_id = $2
              ORDER BY c.name LIMIT 1) AS usually
       FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1 AND r.role = 'official' ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** Over all officials and filed reports of the season: no grade, only what to offer first. */
async function missedBefore(client: Queryable, conferenceId: string, seasonId: string) {
  const { rows } = await client.query<{ position: Position; dutyKey: string; times: number }>(
    `SELECT c.position, c.duty_key AS "dutyKey", sum(c.not_met)::int AS times
       FROM report r JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state IN ${handedInStates}
        AND c.not_met > 0
      GROUP BY c.position, c.duty_key ORDER BY c.position, c.duty_key`,
    [conferenceId, seasonId],
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
    `SELECT id AS "markId", play_id AS "playId", position, duty_key AS "dutyKey", finding, comment, consequence,
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
