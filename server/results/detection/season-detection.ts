import type { Queryable } from '../../database/transaction.ts';
import type { Watched } from '../../duties/watched.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { DoubleGame } from '../../grading/agreement/detection.ts';
import { countedMaterial, marksOf } from '../../reports/filing/counted-material.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind, SeasonKey } from '../kept-result.ts';
import type { PairOfReports } from './pair-samples.ts';

/**
 * The double games of a season as a kept result: found anew when a report is released, corrected or ruled on. Raise
 * `method` when other marks or chances are taken for the samples.
 */
export function doubleGamesKind(
  calculator: Pick<Calculator, 'pairSamples'>,
): ResultKind<Record<string, never>, PairOfReports[], DoubleGame[]> {
  return {
    name: 'double games',
    method: 2,
    basis: `'{}'::jsonb`,
    read: readPairs,
    compute: (pairs) => calculator.pairSamples(pairs),
  };
}

/** The games with two released reports; of more than two, the two that were released first. */
async function readPairs(db: Queryable, { conferenceId, seasonId }: SeasonKey): Promise<PairOfReports[]> {
  const { rows } = await db.query<{
    game: string;
    version: string;
    reports: { id: string; observer: string; watched: Watched | null }[];
  }>(
    `SELECT r.game_id AS game, (array_agg(v.id ORDER BY v.number DESC))[1] AS version,
            jsonb_agg(jsonb_build_object('id', r.id, 'observer', r.observer_id, 'watched', r.watched)
                      ORDER BY r.released_at, r.id) AS reports
       FROM report r
       JOIN rubric_version v ON v.conference_id = r.conference_id AND v.id = r.rubric_version_id
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
      GROUP BY r.game_id HAVING count(*) > 1 ORDER BY r.game_id`,
    [conferenceId, seasonId],
  );
  const pairs: PairOfReports[] = [];
  for (const { game, version, reports } of rows) {
    const [first, second] = reports as [(typeof reports)[0], (typeof reports)[0]];
    const {
      rubric,
      plays,
      marks,
      crew,
      countedShareLeast: decidedShareLeast,
    } = await countedMaterial(db, conferenceId, { id: first.id, gameId: game }, version);
    pairs.push({
      game,
      duties: rubric.duties.map(({ duty }) => duty),
      practices: rubric.practices,
      plays,
      crew: crewAtWork(crew),
      decidedShareLeast,
      reports: [
        { observer: first.observer, watched: first.watched, marks },
        {
          observer: second.observer,
          watched: second.watched,
          marks: await marksOf(db, conferenceId, second.id),
        },
      ],
    });
  }
  return pairs;
}
