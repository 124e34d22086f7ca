import type { Database } from '../database/database.ts';
import { gradeOf } from '../grading/game-grade.ts';
import { fitMixedModel } from '../grading/mixed-model.ts';
import { type Spread, spreadBeforeData } from '../planning/prices.ts';
import { type GradingRow, readGradingRows } from '../results/standings/grading-rows.ts';

export interface KnownSpread {
  readonly spread: Spread;
  /** False: too little was released to estimate it, so it is a guess. */
  readonly estimated: boolean;
}

const guess: KnownSpread = { spread: spreadBeforeData, estimated: false };

/** Game grades with which the four spreads can begin to be told apart. Common practice, no source. */
const fewestGrades = 60;

/**
 * How far officials, observers, games and single grades differ, from the season's released reports by the grading
 * model (REML). Each grade counts by its opportunities; the residual is that of a grade of mean weight.
 */
export function spreadOf(given: readonly GradingRow[]): KnownSpread {
  const rows = given.flatMap((row) => {
    const graded = gradeOf(row.counts);
    return graded.grade === null ? [] : [{ ...row, ...graded }];
  });
  if (rows.length < fewestGrades) return guess;
  const mean = rows.reduce((sum, row) => sum + row.weight, 0) / rows.length;
  const fit = fitMixedModel({
    response: rows.map(({ grade }) => grade),
    weights: rows.map(({ weight }) => weight / mean),
    fixed: [...new Set(rows.map(({ position }) => position))].map((position) => ({
      name: position,
      values: rows.map((row) => (row.position === position ? 1 : 0)),
    })),
    factors: [
      { name: 'official', levels: rows.map(({ official }) => official) },
      { name: 'observer', levels: rows.map(({ observer }) => observer) },
      { name: 'game', levels: rows.map(({ game }) => game) },
    ],
  });
  if (!fit.fitted) return guess;
  const deviation = (name: string) =>
    Math.sqrt(fit.factors.find((factor) => factor.name === name)?.variance ?? 0);
  const spread = {
    official: deviation('official'),
    observer: deviation('observer'),
    game: deviation('game'),
    residual: Math.sqrt(fit.residualVariance),
  };
  // No spread of skill would make every game worthless to watch: better a guess.
  return spread.official > 0 ? { spread, estimated: true } : guess;
}

const kept = new Map<string, { revision: string; known: KnownSpread }>();
const mostKept = 100;

/** The spread of a season, computed again when its released reports have changed. */
export async function seasonSpread(
  database: Database,
  conferenceId: string,
  seasonId: string,
): Promise<KnownSpread> {
  const { rows } = await database.pool.query<{ revision: string }>(
    'SELECT input_revision::text AS revision FROM season WHERE conference_id = $1 AND id = $2',
    [conferenceId, seasonId],
  );
  const key = `${conferenceId} ${seasonId}`;
  const revision = rows[0]?.revision ?? '';
  const before = kept.get(key);
  if (before?.revision === revision) return before.known;
  const known = spreadOf(await readGradingRows(database.pool, conferenceId, seasonId));
  kept.delete(key);
  kept.set(key, { revision, known });
  for (const oldest of kept.keys()) {
    if (kept.size <= mostKept) break;
    kept.delete(oldest);
  }
  return known;
}
