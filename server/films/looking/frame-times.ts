/** What a film's frames tell, without keeping them all in order of coming: their times come as they are decoded. */
export interface FrameTimes {
  readonly frames: number;
  /** Seconds: of the first frame, and of the last one's end. */
  readonly first: number;
  readonly end: number;
  /** Frames a second, on average. */
  readonly rate: number;
  readonly variable: boolean;
}

/** This share of the steps between frames may be off by this part of the usual one: rounding of clocks and an odd frame. */
const mostOdd = 0.01;
const odd = 0.2;

/** @param times in seconds, in any order, one of each frame; undefined where there are fewer than two. */
export function frameTimes(times: readonly number[]): FrameTimes | undefined {
  const inOrder = Float64Array.from(times).sort();
  const frames = inOrder.length;
  if (frames < 2) return undefined;
  const first = inOrder[0]!;
  const steps = inOrder.subarray(1).map((time, at) => time - inOrder[at]!);
  const usual = Float64Array.from(steps).sort()[Math.floor(steps.length / 2)]!;
  let odds = 0;
  for (const step of steps) if (Math.abs(step - usual) > odd * usual) odds += 1;
  const last = inOrder[frames - 1]!;
  return {
    frames,
    first,
    end: last + usual,
    rate: (frames - 1) / (last - first),
    variable: odds > mostOdd * steps.length,
  };
}
