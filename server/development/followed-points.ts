import type { Database } from '../database/database.ts';
import { placeAt } from '../patterns/baseline.ts';
import { readPointCounts } from '../results/patterns/point-counts.ts';
import type { CurrentPatterns } from '../results/patterns/season-patterns.ts';
import type { SeasonResults } from '../results/season-results.ts';
import { number } from '../web/format.ts';
import { Problem } from '../web/problem.ts';
import type { DevelopmentPoint } from './point.ts';
import { readPoint, readPoints, turnPoint } from './point-store.ts';
import { type Progress, progressOf } from './progress.ts';

export interface FollowedPoint extends DevelopmentPoint {
  progress: Progress;
}

/** A season's points with how each stands now. A closed one whose miss has come back is opened again on the way. */
export async function followedPoints(
  database: Database,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
  personId: string | null = null,
): Promise<FollowedPoint[]> {
  const points = await readPoints(database, conferenceId, seasonId, personId);
  if (points.some((point) => point.situationCut !== '')) await results.cutsUpToDate(conferenceId, seasonId);
  if (points.length === 0) return [];
  const patterns = await results.patternsOf(conferenceId, seasonId);
  const followed: FollowedPoint[] = [];
  for (const point of points) followed.push(await follow(database, conferenceId, point, patterns));
  return followed;
}

/** One point with how it stands now. */
export async function followedPoint(
  database: Database,
  results: SeasonResults,
  conferenceId: string,
  pointId: string,
): Promise<FollowedPoint> {
  const point = await readPoint(database, conferenceId, pointId);
  if (point.situationCut !== '') await results.cutsUpToDate(conferenceId, point.seasonId);
  const patterns = await results.patternsOf(conferenceId, point.seasonId);
  return follow(database, conferenceId, point, patterns);
}

async function follow(
  database: Database,
  conferenceId: string,
  point: DevelopmentPoint,
  { spread, leftOut, settings }: CurrentPatterns,
): Promise<FollowedPoint> {
  const counts = await readPointCounts(database.pool, { conferenceId, ...point }, spread);
  const peers = {
    leftOut: new Set(leftOut[placeAt('misses', point.dutyKey, point.position)]),
    minimumOpportunities: settings.minimumOpportunities,
  };
  const progress = progressOf(point, counts, peers);
  if (!progress.sinceClosing?.recurs) return { ...point, progress };
  const { own, gamesWithMisses, expected } = progress.sinceClosing;
  const text = `Missed ${own.events} of ${own.opportunities} in ${gamesWithMisses} games since it was closed, where peers would have missed ${number(expected)}.`;
  try {
    await turnPoint(database.pool, { conferenceId, personId: null }, point.id, 'reopened', {
      happenedOn: null,
      text,
    });
  } catch (error) {
    // Another request opened it again at the same moment.
    if (!(error instanceof Problem && error.status === 409)) throw error;
  }
  const reopened = await readPoint(database, conferenceId, point.id);
  return { ...reopened, progress: progressOf(reopened, counts, peers) };
}
