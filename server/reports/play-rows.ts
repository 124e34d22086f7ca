import type { Play } from '../football/play.ts';

/** The columns of table `play` that hold a play's facts. */
export interface PlayColumns {
  kind: string;
  spot: number;
  quarter: number | null;
  clock_seconds: number | null;
  down: number | null;
  distance: number | null;
  facts: Record<string, unknown>;
}

/** A play as its columns: what SQL reads beside the rest, which is kept as one object. */
export function columnsOf(play: Play): PlayColumns {
  const { kind, spot, quarter, clockSeconds, down, distance, ...facts } = play;
  return {
    kind,
    spot,
    quarter: quarter ?? null,
    clock_seconds: clockSeconds ?? null,
    down: down ?? null,
    distance: distance ?? null,
    facts,
  };
}

/** The inverse of `columnsOf`, for rows that the application validated when it wrote them. */
export function playOf(row: PlayColumns): Play {
  const play: Record<string, unknown> = { kind: row.kind, spot: row.spot };
  if (row.quarter !== null) play.quarter = row.quarter;
  if (row.clock_seconds !== null) play.clockSeconds = row.clock_seconds;
  if (row.down !== null) play.down = row.down;
  if (row.distance !== null) play.distance = row.distance;
  return Object.assign(play, row.facts) as Play;
}
