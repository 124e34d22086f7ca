import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Code, codes } from '../../server/football/codes.ts';
import { contradictionsIn } from '../../server/football/contradictions/index.ts';
import { impliedFacts } from '../../server/football/implied-facts.ts';
import { nothingElseHappened, nothingUnusual } from '../../server/football/nothing-unusual.ts';
import { type Fact, facts, type Play, playSchema } from '../../server/football/play.ts';
import { anyPlay } from '../support/arbitrary-football.ts';

const aCode = fc.constantFrom(...codes);
/** A play of few facts: of many drawn at random some always contradict each other. */
const anySparsePlay = fc
  .tuple(anyPlay, fc.subarray([...facts], { maxLength: 14 }))
  .map(
    ([play, kept]) =>
      Object.fromEntries(
        Object.entries(play).filter(([fact]) => ['kind', 'spot', ...kept].includes(fact)),
      ) as Play,
  );
const wrong = (play: Play, code: Code) => contradictionsIn([{ number: 1, play }], [], code);
const start = { spot: 40, quarter: 1, clockSeconds: 600, down: 2, distance: 7 } as const;
const run: Play = { ...start, kind: 'run', endSpot: 43, outOfBounds: false };

describe('facts that the others imply', () => {
  it('are facts of a play, of none that was logged', () => {
    fc.assert(
      fc.property(anyPlay, aCode, (play, code) => {
        const implied = impliedFacts(play, code);
        playSchema.parse({ ...play, ...implied });
        for (const fact of Object.keys(implied)) expect(play[fact as Fact]).toBeUndefined();
      }),
    );
  });

  it('never contradict a play that does not contradict itself', () => {
    fc.assert(
      fc.property(anySparsePlay, aCode, (play, code) => {
        if (wrong(play, code).length > 0) return;
        expect(wrong({ ...play, ...impliedFacts(play, code) }, code)).toEqual([]);
      }),
      { numRuns: 2000 },
    );
  });

  it('give no contradiction with "nothing else happened" to a play of which one rare fact is known', {
    tags: ['long'],
  }, () => {
    fc.assert(
      fc.property(anySparsePlay, fc.nat(), aCode, (play, pick, code) => {
        const rare = (Object.keys(nothingUnusual(play.kind)) as Fact[]).filter(
          (fact) => play[fact] !== undefined,
        );
        const one = rare[pick % Math.max(1, rare.length)];
        const few = Object.fromEntries(
          Object.entries(play).filter(([fact]) => fact === one || !rare.includes(fact as Fact)),
        ) as Play;
        if (wrong(few, code).length === 0) expect(wrong(nothingElseHappened(few, code), code)).toEqual([]);
      }),
      { numRuns: 2000 },
    );
  });

  it('do not depend on what is left open becoming known', () => {
    // Whatever was implied of fewer facts is implied of more, or was said otherwise.
    fc.assert(
      fc.property(anySparsePlay, fc.nat(), aCode, (play, pick, code) => {
        const known = (Object.keys(play) as Fact[]).filter(
          (fact) => fact !== 'kind' && fact !== 'spot' && !fact.startsWith('clock') && fact !== 'quarter',
        );
        if (known.length === 0) return;
        const { [known[pick % known.length]!]: _, ...fewer } = play;
        const full = { ...impliedFacts(play, code), ...play };
        if (wrong(full, code).length > 0) return;
        for (const [fact, value] of Object.entries(impliedFacts(fewer as Play, code)))
          if (play[fact as Fact] === undefined) expect([fact, full[fact as Fact]]).toEqual([fact, value]);
      }),
      { numRuns: 2000 },
    );
  });

  // By the books named in citations.ts, numbers from memory: NCAA 3-3-2 and 8-3, NFHS 3-4.
  it.each<[string, Partial<Play>, Code, Partial<Play>]>([
    ['a run in bounds lets the clock run', {}, 'college', { clockAfter: 'running', clockStoppedFor: 'none' }],
    [
      'a first down stops it for the ready, high school',
      { endSpot: 50 },
      'high school',
      { clockStoppedFor: 'first down', clockStartsOn: 'ready' },
    ],
    ['and not in college outside two minutes', { endSpot: 50 }, 'college', { clockStoppedFor: 'none' }],
    [
      'late in a half it does',
      { endSpot: 50, quarter: 2, clockSeconds: 100 },
      'college',
      { clockStoppedFor: 'first down' },
    ],
    [
      'out of bounds starts on the ready',
      { outOfBounds: true },
      'college',
      { clockStoppedFor: 'out of bounds', clockStartsOn: 'ready', yardsFromSideline: 0 },
    ],
    [
      'in the last two minutes on the snap',
      { outOfBounds: true, quarter: 4, clockSeconds: 90 },
      'college',
      { clockStartsOn: 'snap' },
    ],
    ['in high school always', { outOfBounds: true }, 'high school', { clockStartsOn: 'snap' }],
    ['a score stops it', { endSpot: 100, score: 'touchdown' }, 'college', { clockStoppedFor: 'score' }],
    [
      'a foul stops it',
      { fouls: [{ foul: 'holding', by: 'offense', outcome: 'accepted' }] },
      'college',
      { clockStoppedFor: 'foul' },
    ],
    [
      'an incomplete pass',
      {
        kind: 'pass',
        passResult: 'incomplete',
        playSide: 'middle',
        endSpot: undefined,
        outOfBounds: undefined,
      },
      'college',
      {
        clockStoppedFor: 'incomplete pass',
        clockStartsOn: 'snap',
        outOfBounds: false,
        endSide: 'middle',
        turnover: 'none',
      },
    ],
    [
      'an interception',
      { kind: 'pass', passResult: 'intercepted' },
      'college',
      { turnover: 'interception', clockStoppedFor: 'change of possession' },
    ],
    [
      'short on fourth down',
      { down: 4 },
      'college',
      { turnover: 'downs', clockStoppedFor: 'change of possession' },
    ],
    [
      'a fair catch',
      { kind: 'punt', kickResult: 'fair catch', kickSide: 'middle', endSpot: 80, outOfBounds: undefined },
      'college',
      {
        kickTo: 80,
        endSide: 'middle',
        fairCatchSignal: true,
        kickTouchedBy: 'receiving team',
        turnover: 'none',
      },
    ],
    [
      'a good try',
      { kind: 'try', tryBy: 'kick', kickResult: 'good' },
      'college',
      { score: 'try good', clockStoppedFor: 'none' },
    ],
  ])('%s', (_what, facts, code, implied) => {
    const play = Object.fromEntries(
      Object.entries({ ...run, ...facts }).filter(([, value]) => value !== undefined),
    );
    expect(nothingElseHappened(play as Play, code)).toMatchObject(implied);
  });
});
