import type { Queryable } from '../../database/transaction.ts';
import { type Duty, dutySchema } from '../../duties/duty.ts';
import type { Finding } from '../../duties/finding.ts';
import { type CompiledRubric, compileRubric } from '../../duties/opportunities.ts';
import type { LoggedPlay } from '../../duties/opportunity-counts.ts';
import type { Position } from '../../football/positions.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import type { CrewMember } from '../../games/working-crew.ts';
import type { ReportState } from '../states.ts';

export interface ReportRow {
  readonly id: string;
  readonly seasonId: string;
  readonly gameId: string;
  readonly observerId: string;
  readonly state: ReportState;
  readonly revision: number;
  readonly rubricVersionId: string | null;
  readonly generalComment: string;
  readonly returnedReason: string | null;
  readonly crewConfirmed: boolean;
  readonly replyUntil: Date | null;
}

/** A mark as kept: a finding on one official on one play for one duty. */
export interface Mark {
  readonly id: string;
  readonly playId: string;
  readonly personId: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly finding: Finding;
  readonly comment: string;
}

export interface NumberedPlay extends LoggedPlay {
  readonly number: number;
}

// `columns` and `joined` are what is read besides.
const lockedReport = (columns = '', joined = '') => `
     SELECT r.id, r.season_id AS "seasonId", r.game_id AS "gameId", r.observer_id AS "observerId", r.state, r.revision,
            r.rubric_version_id AS "rubricVersionId", r.general_comment AS "generalComment",
            r.returned_reason AS "returnedReason", r.reply_until AS "replyUntil",
            g.crew_confirmed_at IS NOT NULL AS "crewConfirmed"${columns}
       FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id ${joined}
      WHERE r.conference_id = $1 AND r.id = $2
        FOR UPDATE OF r`;

/** Reads a report and holds it until the transaction ends, so that its changes and steps come one after another. */
export async function lockReport(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<ReportRow | undefined> {
  const { rows } = await client.query<ReportRow>({
    name: 'lock-report',
    text: lockedReport(),
    values: [conferenceId, reportId],
  });
  return rows[0];
}

/**
 * `lockReport`, and the version of its season's rubric that it would be filed under now, which cannot change until
 * the transaction ends either.
 */
export async function lockReportAndRubric(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<(ReportRow & { readonly currentVersionId: string | null }) | undefined> {
  const { rows } = await client.query<ReportRow & { currentVersionId: string | null }>({
    name: 'lock-report-and-rubric',
    text: lockedReport(
      ', v.id AS "currentVersionId"',
      `LEFT JOIN LATERAL (SELECT id FROM rubric_version v
                           WHERE v.conference_id = r.conference_id AND v.season_id = r.season_id
                           ORDER BY number DESC LIMIT 1 FOR KEY SHARE) v ON true`,
    ),
    values: [conferenceId, reportId],
  });
  return rows[0];
}

export async function playLog(
  client: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<NumberedPlay[]> {
  const { rows } = await client.query<PlayColumns & { id: string; number: number }>(
    `SELECT id, number, kind, spot, quarter, clock_seconds, down, distance, facts FROM play
      WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [conferenceId, gameId],
  );
  return rows.map((row) => ({ id: row.id, number: row.number, play: playOf(row) }));
}

export async function marksOf(client: Queryable, conferenceId: string, reportId: string): Promise<Mark[]> {
  const { rows } = await client.query<Mark>(
    `SELECT id, play_id AS "playId", person_id AS "personId", position, duty_key AS "dutyKey", finding, comment
       FROM observation WHERE conference_id = $1 AND report_id = $2 AND removed_at IS NULL ORDER BY id`,
    [conferenceId, reportId],
  );
  return rows;
}

export async function workingCrew(
  client: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<CrewMember[]> {
  const { rows } = await client.query<CrewMember>(
    `SELECT position, person_id AS "personId" FROM working_crew_member WHERE conference_id = $1 AND game_id = $2`,
    [conferenceId, gameId],
  );
  return rows;
}

/** All that a report is counted from. */
export interface CountedMaterial {
  readonly rubric: CompiledRubric;
  readonly plays: NumberedPlay[];
  readonly marks: Mark[];
  readonly crew: CrewMember[];
  readonly openConflicts: number;
}

type PlayValues = [
  id: string,
  number: number,
  kind: string,
  spot: number,
  quarter: number | null,
  clockSeconds: number | null,
  down: number | null,
  distance: number | null,
  facts: Record<string, unknown>,
];

/** What a report is counted from under a rubric version, in one query: filing is waited for. */
export async function countedMaterial(
  client: Queryable,
  conferenceId: string,
  report: Pick<ReportRow, 'id' | 'gameId'>,
  rubricVersionId: string,
): Promise<CountedMaterial> {
  const { rows } = await client.query<{
    plays: string | null;
    marks: Mark[] | null;
    crew: CrewMember[] | null;
    openConflicts: number;
    /** Changes with every edit of the version's duties: where their rows are, and what transactions wrote them. */
    rubricStamp: string;
  }>({
    name: 'counted-material',
    // A game has many plays: PostgreSQL's own JSON functions take four times as long over them as joining text.
    text: `SELECT
      (SELECT string_agg(format('["%s",%s,"%s",%s,%s,%s,%s,%s,%s]', id, number, kind, spot,
                coalesce(quarter::text, 'null'), coalesce(clock_seconds::text, 'null'), coalesce(down::text, 'null'),
                coalesce(distance::text, 'null'), facts), ',' ORDER BY number)
         FROM play WHERE conference_id = $1 AND game_id = $3 AND removed_at IS NULL) AS plays,
      (SELECT json_agg(json_build_object('id', id, 'playId', play_id, 'personId', person_id, 'position', position,
                'dutyKey', duty_key, 'finding', finding, 'comment', comment) ORDER BY id)
         FROM observation WHERE conference_id = $1 AND report_id = $2 AND removed_at IS NULL) AS marks,
      (SELECT json_agg(json_build_object('position', position, 'personId', person_id))
         FROM working_crew_member WHERE conference_id = $1 AND game_id = $3) AS crew,
      (SELECT count(*)::int FROM report_change c
        WHERE c.conference_id = $1 AND c.report_id = $2 AND c.outcome = 'conflict'
          AND NOT EXISTS (SELECT FROM report_change r WHERE r.conference_id = $1 AND r.report_id = $2
                             AND r.resolves = c.id)) AS "openConflicts",
      (SELECT coalesce(string_agg(ctid::text || ' ' || xmin::text, ',' ORDER BY key), '') FROM duty
        WHERE conference_id = $1 AND rubric_version_id = $4) AS "rubricStamp"`,
    values: [conferenceId, report.id, report.gameId, rubricVersionId],
  });
  const found = rows[0]!;
  const plays = (JSON.parse(`[${found.plays ?? ''}]`) as PlayValues[]).map(
    ([id, number, kind, spot, quarter, clock_seconds, down, distance, facts]) => ({
      id,
      number,
      play: playOf({ kind, spot, quarter, clock_seconds, down, distance, facts }),
    }),
  );
  return {
    rubric: await compiledRubric(client, conferenceId, rubricVersionId, found.rubricStamp),
    plays,
    marks: found.marks ?? [],
    crew: found.crew ?? [],
    openConflicts: found.openConflicts,
  };
}

/** The version that a report filed now would be counted under. */
export async function currentRubricVersion(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<string | undefined> {
  const { rows } = await client.query<{ id: string }>(
    'SELECT id FROM rubric_version WHERE conference_id = $1 AND season_id = $2 ORDER BY number DESC LIMIT 1',
    [conferenceId, seasonId],
  );
  return rows[0]?.id;
}

export async function dutiesOf(
  client: Queryable,
  conferenceId: string,
  rubricVersionId: string,
): Promise<Duty[]> {
  const { rows } = await client.query<{ definition: unknown }>(
    `SELECT definition FROM duty WHERE conference_id = $1 AND rubric_version_id = $2 ORDER BY category, key`,
    [conferenceId, rubricVersionId],
  );
  return rows.map((row) => dutySchema.parse(row.definition));
}

const compiledRubrics = new Map<string, { stamp: string; rubric: CompiledRubric }>();
const mostKept = 50;

/**
 * A version's duties made ready for counting, kept in memory while their rows are as `stamp` says: a version that no
 * report holds on to may still be edited.
 */
async function compiledRubric(
  client: Queryable,
  conferenceId: string,
  rubricVersionId: string,
  stamp: string,
): Promise<CompiledRubric> {
  const key = `${conferenceId} ${rubricVersionId}`;
  const kept = compiledRubrics.get(key);
  if (kept?.stamp === stamp) return kept.rubric;
  const rubric = compileRubric(await dutiesOf(client, conferenceId, rubricVersionId));
  if (compiledRubrics.size >= mostKept) compiledRubrics.delete(compiledRubrics.keys().next().value!);
  compiledRubrics.set(key, { stamp, rubric });
  return rubric;
}
