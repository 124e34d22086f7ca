import type { Queryable } from '../../database/transaction.ts';
import type { Consequence } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import { type CompiledRubric, compileRubric } from '../../duties/opportunities.ts';
import type { LoggedPlay } from '../../duties/opportunity-counts.ts';
import type { Position } from '../../football/positions.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import type { CrewMember } from '../../games/working-crew.ts';
import { readCountedRubric } from '../../rubric/read-rubric.ts';
import type { ReportRow } from './held-report.ts';

/** A mark as kept: a finding on one official on one play for one duty. */
export interface Mark {
  readonly id: string;
  readonly playId: string;
  readonly personId: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly finding: Finding;
  readonly comment: string;
  /** What a wrong or missed call cost; null when not judged. */
  readonly consequence: Consequence | null;
}

export interface NumberedPlay extends LoggedPlay {
  readonly number: number;
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
    `SELECT id, play_id AS "playId", person_id AS "personId", position, duty_key AS "dutyKey", finding, comment,
            consequence
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
interface CountedMaterial {
  readonly rubric: CompiledRubric;
  readonly plays: NumberedPlay[];
  readonly marks: Mark[];
  readonly crew: CrewMember[];
  readonly openConflicts: number;
  /** The conference's: the least share decided with which a duty counts, for counting a report now. */
  readonly decidedShareLeast: number;
  /** The one that the report was last counted with, for what is to agree with its counts; the conference's before that. */
  readonly countedShareLeast: number;
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
    decidedShareLeast: number;
    countedShareLeast: number;
    /** Changes with every edit of the version and its duties: where their rows are, and what transactions wrote them. */
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
                'dutyKey', duty_key, 'finding', finding, 'comment', comment,
                'consequence', consequence) ORDER BY id)
         FROM observation WHERE conference_id = $1 AND report_id = $2 AND removed_at IS NULL) AS marks,
      (SELECT json_agg(json_build_object('position', position, 'personId', person_id))
         FROM working_crew_member WHERE conference_id = $1 AND game_id = $3) AS crew,
      (SELECT count(*)::int FROM report_change c
        WHERE c.conference_id = $1 AND c.report_id = $2 AND c.outcome = 'conflict'
          AND NOT EXISTS (SELECT FROM report_change r WHERE r.conference_id = $1 AND r.report_id = $2
                             AND r.resolves = c.id)) AS "openConflicts",
      (SELECT decided_share_least FROM conference WHERE id = $1) AS "decidedShareLeast",
      (SELECT coalesce(r.counted_share_least, c.decided_share_least) FROM report r JOIN conference c ON c.id = $1
        WHERE r.conference_id = $1 AND r.id = $2) AS "countedShareLeast",
      (SELECT ctid::text || ' ' || xmin::text FROM rubric_version WHERE conference_id = $1 AND id = $4) || ' ' ||
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
    decidedShareLeast: found.decidedShareLeast,
    countedShareLeast: found.countedShareLeast,
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
  const { duties, practices } = await readCountedRubric(client, conferenceId, rubricVersionId);
  const rubric = compileRubric(duties, practices);
  if (compiledRubrics.size >= mostKept) compiledRubrics.delete(compiledRubrics.keys().next().value!);
  compiledRubrics.set(key, { stamp, rubric });
  return rubric;
}
