import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import type { SeasonResults } from '../results/season-results.ts';
import type { NewPoint } from './point.ts';
import { openPoint } from './point-store.ts';

/** Opens a point and keeps with it the pattern as it stands, where there is one. Returns the point's id. */
export async function openPointWithEvidence(
  pool: pg.Pool,
  results: SeasonResults,
  actor: Acting,
  seasonId: string,
  point: NewPoint,
): Promise<string> {
  const { patterns } = await results.patternsOf(actor.conferenceId, seasonId);
  const evidence = patterns.find(
    (pattern) =>
      pattern.official === point.personId &&
      pattern.position === point.position &&
      pattern.duty === point.dutyKey &&
      (pattern.situationCut ?? '') === point.situationCut,
  );
  return openPoint(pool, actor, seasonId, point, evidence ?? null);
}
