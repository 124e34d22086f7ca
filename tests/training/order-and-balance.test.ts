import '../support/same-draws.ts';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { aspects } from '../../server/training/aspects.ts';
import { balanceOf, type ShownPlay } from '../../server/training/balance.ts';
import { showings } from '../../server/training/lesson.ts';
import { fitInWords, readingFit, readingSeconds, wordsIn } from '../../server/training/reading-time.ts';
import { reasonsFor } from '../../server/training/reasons.ts';
import { clipSeconds, playingSeconds } from '../../server/training/running-time.ts';
import { inTeachingOrder, topicOpenings } from '../../server/training/topic-order.ts';

const play = fc.record({
  topic: fc.constantFrom('spots', 'keys', 'signals'),
  aspect: fc.constantFrom(...aspects),
  showing: fc.constantFrom(...showings),
});

test('in teaching order topics stand together, open and close with a good play, and lose nothing', () => {
  fc.assert(
    fc.property(fc.array(play, { maxLength: 15 }), (plays) => {
      const ordered = inTeachingOrder(plays);
      expect(new Set(ordered)).toEqual(new Set(plays));
      expect(ordered).toHaveLength(plays.length);
      for (const { topic, together, opensGood, closesGood } of topicOpenings(ordered)) {
        const own = ordered.filter((one) => one.topic === topic);
        const good = own.filter(({ showing }) => showing === 'good').length;
        expect(together).toBe(true);
        expect(opensGood).toBe(good > 0);
        expect(closesGood).toBe(good > 1 || own.length === good);
        const between = own.slice(good > 0 ? 1 : 0, good > 1 ? -1 : undefined);
        const at = between.map(({ aspect }) => aspects.indexOf(aspect));
        expect(at).toEqual(at.toSorted((a, b) => a - b));
      }
      // Ordered again nothing moves.
      expect(inTeachingOrder(ordered)).toEqual(ordered);
    }),
  );
});

const shown = (over: Partial<ShownPlay>): ShownPlay => ({
  playId: 'play',
  week: 1,
  crewId: 'north',
  teamIds: ['home', 'visitors'],
  officialId: 'one',
  position: 'umpire',
  showing: 'good',
  ...over,
});
const season = { crews: 4, positions: 8, weeks: 12, teams: 10 };
const seconds = { used: 0, planned: 1200 };

test('who is shown badly too often, only badly, and which crew has more than its third of the bad', () => {
  const plays = [
    shown({ showing: 'bad' }),
    shown({ showing: 'bad' }),
    shown({ showing: 'to discuss' }),
    shown({}),
    shown({ officialId: 'two', crewId: 'south', showing: 'bad' }),
    shown({ officialId: 'three', crewId: 'east' }),
  ];
  const balance = balanceOf(plays, season, 2, seconds);
  expect(balance).toMatchObject({
    good: 2,
    bad: 4,
    enoughGood: false,
    tooOftenBad: [{ officialId: 'one', bad: 3 }],
    onlyBad: ['two'],
    // A third of four, rounded up, is two.
    crewsOverThird: [{ crewId: 'north', bad: 3, most: 2 }],
  });
});

test('a single bad play is nobody’s third too many, and equal numbers are enough', () => {
  const balance = balanceOf([shown({ showing: 'bad' }), shown({})], season, 2, seconds);
  expect(balance).toMatchObject({ enoughGood: true, onlyBad: [], crewsOverThird: [], tooOftenBad: [] });
});

test('unevenness is the share that would have to come from others', () => {
  // Six plays over three crews: two each would be even. Four of one and two of another: two of six must move.
  const plays = [4, 2].flatMap((count, crew) =>
    Array.from({ length: count }, () => shown({ crewId: `crew ${crew}` })),
  );
  const { crews, weeks } = balanceOf(plays, { ...season, crews: 3, weeks: 1 }, 2, seconds);
  expect(crews.uneven).toBeCloseTo(2 / 6, 12);
  expect(weeks.uneven).toBe(0);
  expect(balanceOf([], season, 2, seconds).crews).toEqual({ counts: [], uneven: 0 });
});

test('a narration is held against its clip in words', () => {
  expect(fitInWords(readingFit('', 9))).toBe('The clip is 9 seconds long.');
  expect(fitInWords(readingFit('Watch the ball.', 1))).toBe(
    '3 words, 1 second aloud; the clip is 1 second long.',
  );
  expect(fitInWords(readingFit('Watch the ball now.', 1))).toBe(
    '4 words, 1.4 seconds aloud; the clip is 1 second long. 0.4 seconds too long: leave out 1 word, or show more of the play.',
  );
});

test('reading aloud takes as long as the published rate says', () => {
  // Brysbaert (2019): 183 words a minute.
  const minute = Array.from({ length: 183 }, () => 'word').join(' ');
  expect(readingSeconds(minute)).toBe(60);
  expect(wordsIn('The umpire’s key: guard, then center – 3rd and 7.')).toBe(9);
  expect(wordsIn('  ')).toBe(0);
  expect(readingFit(minute, 20)).toMatchObject({ words: 183, over: 40, wordsTooMany: 122 });
  expect(readingFit('', 0)).toMatchObject({ words: 0, over: 0, wordsTooMany: 0 });
});

test('a play takes its clip, and the stop for its question', () => {
  expect(playingSeconds(clipSeconds({ secondsBefore: 6, secondsAfter: 10 }), false)).toBe(16);
  expect(playingSeconds(clipSeconds({ secondsBefore: 6, secondsAfter: 10 }), true)).toBe(36);
});

test('reasons: what is said for a play, strongest first', () => {
  const mark = {
    outcome: 'missed',
    finding: 'missed',
    observers: 1,
    topicRank: null,
    isRepeat: false,
    rulingChanged: false,
    askedAbout: false,
  } as const;
  const kinds = (over: object) => reasonsFor({ ...mark, ...over }).map(({ kind }) => kind);
  expect(kinds({})).toEqual([]);
  expect(kinds({ observers: 2 })).toEqual([]);
  expect(kinds({ topicRank: 1, isRepeat: true, observers: 2 })).toEqual([
    'training topic',
    'repeat miss',
    'seen alike by two observers',
  ]);
  expect(kinds({ topicRank: 15, outcome: 'met', finding: 'model' })).toEqual([
    'worth showing',
    'training topic',
  ]);
  expect(kinds({ outcome: 'judged differently', observers: 2 })).toEqual(['observers differed']);
  expect(kinds({ rulingChanged: true, outcome: 'met', finding: 'done' })).toEqual(['changed ruling']);
  expect(kinds({ askedAbout: true, observers: 2 })).toEqual([
    'asked about by a team',
    'seen alike by two observers',
  ]);
});
