import { facts, type Play } from '../football/play.ts';

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

// Every play has all facts, in one order, those not logged undefined: objects of one shape are read faster, and
// counting opportunities is mostly that.
const nothingLogged: Record<string, unknown> = Object.fromEntries(facts.map((fact) => [fact, undefined]));

/** The inverse of `columnsOf`, for rows that the application validated when it wrote them. */
export function playOf(row: PlayColumns): Play {
  const play = { ...nothingLogged };
  play.kind = row.kind;
  play.spot = row.spot;
  play.quarter = row.quarter ?? undefined;
  play.clockSeconds = row.clock_seconds ?? undefined;
  play.down = row.down ?? undefined;
  play.distance = row.distance ?? undefined;
  return Object.assign(play, row.facts) as Play;
}
