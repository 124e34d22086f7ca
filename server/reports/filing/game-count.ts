import type { Queryable } from '../../database/transaction.ts';
import { consequences } from '../../duties/consequence.ts';
import { countedChances } from '../../duties/counted-chances.ts';
import { countGame, type GameCount } from '../../duties/game-counts.ts';
import { type Watched, watchedOn } from '../../duties/watched.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { countedMaterial } from './counted-material.ts';

interface ReleasedReport {
  readonly id: string;
  readonly rubricVersionId: string;
  readonly watched: Watched | null;
}

/**
 * Counts a game once over all its released reports. Whatever changes the counts of a released report, or how many
 * there are, does this last before its audit entry: releasing, revising, ruling, and recounting after a change of the
 * play log or of a setting.
 */
export async function keepGameCount(client: Queryable, conferenceId: string, gameId: string): Promise<void> {
  const reports = await heldReleasedReports(client, conferenceId, gameId);
  await client.query('DELETE FROM game_count WHERE conference_id = $1 AND game_id = $2', [
    conferenceId,
    gameId,
  ]);
  if (reports.length === 1) await takeOver(client, conferenceId, gameId, reports[0]!);
  if (reports.length > 1) await layTogether(client, conferenceId, gameId, reports);
}

/**
 * A game's released reports, those under a newer rubric version first. Until the transaction ends nobody else counts
 * the game: two reports released at once would each see one only. Asked after the reports' own rows are locked.
 */
export async function heldReleasedReports(
  client: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<ReleasedReport[]> {
  await client.query('SELECT pg_advisory_xact_lock(hashtextextended($1, 0))', [`game count ${gameId}`]);
  const { rows } = await client.query<ReleasedReport>(
    `SELECT r.id, r.rubric_version_id AS "rubricVersionId", r.watched
       FROM report r JOIN rubric_version v ON v.conference_id = r.conference_id AND v.id = r.rubric_version_id
      WHERE r.conference_id = $1 AND r.game_id = $2 AND r.state = 'released' ORDER BY v.number DESC, r.id`,
    [conferenceId, gameId],
  );
  return rows;
}

/** What a report counts is what its game counts, when it is the only one. */
async function takeOver(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  report: ReleasedReport,
): Promise<void> {
  await client.query(
    `INSERT INTO game_count (conference_id, game_id, person_id, position, duty_key, rubric_version_id, opportunities,
                             not_met, not_counted, model, cost_none, cost_yards, cost_possession, cost_score)
     SELECT conference_id, $2, person_id, position, duty_key, $4, opportunities, not_met, not_counted, model,
            cost_none, cost_yards, cost_possession, cost_score
       FROM opportunity_count WHERE conference_id = $1 AND report_id = $3 AND opportunities > 0`,
    [conferenceId, gameId, report.id, report.rubricVersionId],
  );
}

/** @param reports those under a newer rubric version first: a duty weighs what it does there */
async function layTogether(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  reports: readonly ReleasedReport[],
): Promise<void> {
  const { chances, personAt } = await chancesOfReports(client, conferenceId, gameId, reports);
  const versionOf = new Map<string, string>();
  for (const [at, of] of chances.entries()) {
    for (const { dutyKey } of of.values()) {
      if (!versionOf.has(dutyKey)) versionOf.set(dutyKey, reports[at]!.rubricVersionId);
    }
  }
  const counts = countGame(chances).filter(({ position }) => personAt.has(position));
  const column = (of: (count: GameCount) => unknown) => counts.map(of);
  await client.query(
    `INSERT INTO game_count (conference_id, game_id, person_id, position, duty_key, rubric_version_id, opportunities,
                             not_met, not_counted, differed, model, cost_none, cost_yards, cost_possession, cost_score)
     SELECT $1, $2, n.*
       FROM unnest($3::uuid[], $4::text[], $5::text[], $6::uuid[], $7::int[], $8::int[], $9::int[], $10::int[],
                   $11::int[], $12::int[], $13::int[], $14::int[], $15::int[]) n`,
    [
      conferenceId,
      gameId,
      column(({ position }) => personAt.get(position)),
      column(({ position }) => position),
      column(({ dutyKey }) => dutyKey),
      column(({ dutyKey }) => versionOf.get(dutyKey)),
      column(({ opportunities }) => opportunities),
      column(({ notMet }) => notMet),
      column(({ notCounted }) => notCounted),
      column(({ differed }) => differed),
      column(({ model }) => model),
      ...consequences.map((consequence) => column(({ costs }) => costs[consequence])),
    ],
  );
}

/** The counted chances of each report of a game, and who worked which position. */
async function chancesOfReports(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  reports: readonly ReleasedReport[],
) {
  const chances = [];
  let personAt = new Map<string, string>();
  for (const { id, rubricVersionId, watched } of reports) {
    const {
      rubric,
      plays,
      marks,
      crew,
      countedShareLeast: decidedShareLeast,
    } = await countedMaterial(client, conferenceId, { id, gameId }, rubricVersionId);
    const seen =
      watched === null
        ? undefined
        : watchedOn(
            watched,
            plays.map((play) => play.id),
          );
    personAt = new Map(crew.map((member) => [member.position, member.personId]));
    chances.push(
      countedChances(plays, crewAtWork(crew), { rubric, marks, watchedOn: seen, decidedShareLeast }),
    );
  }
  return { chances, personAt };
}
