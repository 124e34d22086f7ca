import { secondsOfTicks, type Timebase } from '../../../timeline/cut.ts';

/** The frames of a stretch of a film, as the API gives them. */
export interface FrameStretch {
  readonly timebase: Timebase;
  readonly frames: number;
  readonly end: number;
  readonly first: number;
  readonly ticks: readonly number[];
}

/** Finds frames in a stretch of a film. Frames are called by their ticks. */
export class FrameIndex {
  constructor(private readonly stretch: FrameStretch) {}

  get timebase(): Timebase {
    return this.stretch.timebase;
  }
  /** Ticks at which the film is over. */
  get end(): number {
    return this.stretch.end;
  }
  get firstTick(): number {
    return this.stretch.ticks[0] ?? 0;
  }
  get lastTick(): number {
    return this.stretch.ticks.at(-1) ?? 0;
  }

  /** The frame that is seen at a time of the player's clock. */
  seenAt(seconds: number): number {
    const { numerator, denominator } = this.timebase;
    // Half a tick: a player's time is rounded.
    return this.before((seconds * denominator) / numerator + 0.5);
  }
  /** The frame that stands so many places after another, or before; the last or first where there are not so many. */
  after(tick: number, by: number): number {
    const { ticks } = this.stretch;
    return ticks[Math.min(ticks.length - 1, Math.max(0, this.placeOf(tick) + by))] ?? tick;
  }
  /** The first frame that is not seen any more after this one; the film's end after its last. */
  endOf(tick: number): number {
    return this.stretch.ticks[this.placeOf(tick) + 1] ?? this.end;
  }
  /** Where a frame begins, or the film ends, that is nearest to a time: two films' frames seldom begin together. */
  nearestTo(seconds: number): number {
    const seen = this.seenAt(seconds);
    return this.middleOf(seen) < seconds ? this.endOf(seen) : seen;
  }
  /** A time at which that frame is seen, whatever rounding: its middle. */
  middleOf(tick: number): number {
    return secondsOfTicks((tick + this.endOf(tick)) / 2, this.timebase);
  }
  secondsOf(tick: number): number {
    return secondsOfTicks(tick, this.timebase);
  }
  holds(seconds: number): boolean {
    return seconds >= this.secondsOf(this.firstTick) && seconds <= this.secondsOf(this.lastTick);
  }
  /** Frames from one to another. */
  between(from: number, to: number): number {
    return this.placeOf(to) - this.placeOf(from);
  }

  private before(tick: number): number {
    return this.stretch.ticks[this.placeOf(tick)] ?? 0;
  }
  private placeOf(tick: number): number {
    const { ticks } = this.stretch;
    let [low, high] = [0, ticks.length];
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (ticks[middle]! <= tick) low = middle + 1;
      else high = middle;
    }
    return Math.max(0, low - 1);
  }
}
