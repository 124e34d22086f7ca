import type pg from 'pg';
import { readDutyCounts } from '../results/patterns/pattern-counts.ts';
import type { SeasonResults } from '../results/season-results.ts';
import { Problem } from '../web/problem.ts';
import type { DevelopmentPoint } from './point.ts';
import { type Progress, progressOf } from './progress.ts';
import { readPoint, readPoints, turnPoint } from './store.ts';

export interface FollowedPoint extends DevelopmentPoint {
  progress: Progress;
}

/** A season's points with how each stands now. A closed one whose miss has come back is opened again on the way. */
export async function followedPoints(
  pool: pg.Pool,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
  personId: string | null = null,
): Promise<FollowedPoint[]> {
  const points = await readPoints(pool, conferenceId, seasonId, personId);
  if (points.some((point) => point.situationCut !== '')) await results.cutsUpToDate(conferenceId, seasonId);
  const followed: FollowedPoint[] = [];
  for (const point of points) followed.push(await follow(pool, conferenceId, point));
  return followed;
}

/** One point with how it stands now. */
export async function followedPoint(
  pool: pg.Pool,
  results: SeasonResults,
  conferenceId: string,
  pointId: string,
): Promise<FollowedPoint> {
  const point = await readPoint(pool, conferenceId, pointId);
  if (point.situationCut !== '') await results.cutsUpToDate(conferenceId, point.seasonId);
  return follow(pool, conferenceId, point);
}

async function follow(pool: pg.Pool, conferenceId: string, point: DevelopmentPoint): Promise<FollowedPoint> {
  const rows = await readDutyCounts(pool, { conferenceId, ...point });
  const progress = progressOf(point, rows);
  if (!progress.sinceClosing?.recurs) return { ...point, progress };
  const { own, gamesWithMisses, expected } = progress.sinceClosing;
  const text = `Missed ${own.events} of ${own.opportunities} in ${gamesWithMisses} games since it was closed, where peers would have missed ${expected.toFixed(1)}.`;
  try {
    await turnPoint(pool, { conferenceId, personId: null }, point.id, 'reopened', { happenedOn: null, text });
  } catch (error) {
    // Another request opened it again at the same moment.
    if (!(error instanceof Problem && error.status === 409)) throw error;
  }
  const reopened = await readPoint(pool, conferenceId, point.id);
  return { ...reopened, progress: progressOf(reopened, rows) };
}
