import { describe, expect, it } from 'vitest';
import { everybodyWatched, watchedInWords, watchedOn, watchedWithout } from '../../server/duties/watched.ts';
import { positionsOf } from '../../server/football/crews.ts';

const plays = ['a', 'b', 'c', 'd'];
const stretch = (from: string | null, to: string | null, ...positions: 'umpire'[]) => ({
  from,
  to,
  positions,
});

describe('what was watched', () => {
  it('is said for the whole game and, from one play to another with both, for a range; the later range holds', () => {
    const watched = {
      ...everybodyWatched,
      stretches: [stretch('b', 'd'), stretch('c', null, 'umpire'), stretch('d', 'd')],
    };
    const seen = watchedOn(watched, plays);
    expect(plays.map((id) => seen(id, 'umpire'))).toEqual([true, false, true, false]);
    expect(plays.map((id) => seen(id, 'referee'))).toEqual([true, false, false, false]);
    const untilThen = watchedOn({ positions: [], stretches: [stretch(null, 'b', 'umpire')] }, plays);
    expect(plays.map((id) => untilThen(id, 'umpire'))).toEqual([true, true, false, false]);
  });

  it('moves off a play that is taken out, to its neighbour inside the range', () => {
    const without = (playId: string, ...stretches: ReturnType<typeof stretch>[]) =>
      watchedWithout({ ...everybodyWatched, stretches }, playId, plays).stretches;
    expect(without('b', stretch('b', 'd'), stretch('a', 'b'), stretch('b', 'b'))).toEqual([
      stretch('c', 'd'),
      stretch('a', 'a'),
    ]);
    expect(without('a', stretch(null, 'a'))).toEqual([]);
    expect(without('d', stretch('d', 'd'), stretch('a', 'c'))).toEqual([stretch('a', 'c')]);
  });

  it('holds for the plays still to come when the play it was said from is taken out again', () => {
    const everybodyTill = {
      ...everybodyWatched,
      stretches: [stretch('b', null, 'umpire'), stretch('d', null)],
    };
    const seenAfter = (left: readonly string[], watched: typeof everybodyTill) => {
      const seen = watchedOn(watched, left);
      return left.map((id) => [seen(id, 'umpire'), seen(id, 'referee')]);
    };
    const without = watchedWithout(everybodyTill, 'd', plays) as typeof everybodyTill;
    const [everybody, umpireOnly, nobody] = [
      [true, true],
      [true, false],
      [false, false],
    ];
    expect(seenAfter(['a', 'b', 'c', 'e'], without)).toEqual([everybody, umpireOnly, umpireOnly, nobody]);
    const only = watchedWithout({ ...everybodyWatched, stretches: [stretch(null, null, 'umpire')] }, 'a', [
      'a',
    ]);
    expect(seenAfter(['b'], only as typeof everybodyTill)).toEqual([umpireOnly]);
    const first = watchedWithout({ ...everybodyWatched, stretches: [stretch('a', null, 'umpire')] }, 'a', [
      'a',
    ]);
    expect(first).toEqual({ positions: ['umpire'], stretches: [] });
  });

  it('is told in words, of those who worked', () => {
    const crew = positionsOf(7);
    const words = (
      positions: typeof everybodyWatched.positions,
      ...stretches: ReturnType<typeof stretch>[]
    ) => watchedInWords({ positions, stretches }, crew, (id) => plays.indexOf(id) + 1);
    expect(words(everybodyWatched.positions)).toBe('everybody');
    expect(words(['umpire', 'back judge'])).toBe('umpire, back judge');
    expect(words(crew.filter((position) => position !== 'umpire'))).toBe('everybody but umpire');
    expect(words([], stretch('b', 'c', 'umpire'), stretch(null, 'a'), stretch('d', null))).toBe(
      'nobody; plays 2 to 3 umpire; up to play 1 nobody; from play 4 nobody',
    );
  });
});
