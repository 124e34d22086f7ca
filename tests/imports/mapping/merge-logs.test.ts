import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Play } from '../../../server/football/play.ts';
import { alignLogs } from '../../../server/imports/mapping/align-logs.ts';
import { mergeLogs } from '../../../server/imports/mapping/merge-logs.ts';

/** A log as games have them: the clock runs down, and the ball lies elsewhere on each play. */
const anyLog: fc.Arbitrary<Play[]> = fc
  .array(
    fc.record({
      kind: fc.constantFrom('run' as const, 'pass' as const),
      down: fc.integer({ min: 1, max: 4 }),
      gone: fc.integer({ min: 5, max: 40 }),
    }),
    { minLength: 1, maxLength: 40 },
  )
  .map((drawn) => {
    let clock = 3600;
    return drawn.map(({ gone, ...play }, at): Play => {
      clock -= gone;
      return {
        ...play,
        spot: 1 + ((at * 17) % 97),
        quarter: 4 - Math.floor(clock / 900),
        clockSeconds: clock % 900,
        distance: 10,
        offense: 'home',
      };
    });
  });

const fromFile = (play: Play, line: number) => ({ line, play, filmSeconds: null, note: '' });
const inLog = (play: Play, at: number) => ({
  id: `play-${at}`,
  number: at + 1,
  play,
  filmSeconds: null,
  note: '',
});

describe('a log laid over one that is there', () => {
  it('finds every play again, whatever was left out on either side', () => {
    fc.assert(
      fc.property(anyLog, fc.infiniteStream(fc.nat(9)), (plays, chance) => {
        const numbered = plays.map((play, at) => ({ play, at, draw: chance.next().value as number }));
        const ours = numbered.filter(({ draw }) => draw !== 0);
        const theirs = numbered.filter(({ draw }) => draw !== 1);
        const pairs = alignLogs(
          ours.map(({ play }) => play),
          theirs.map(({ play }) => play),
        );
        for (const pair of pairs) {
          if (pair.ours === undefined || pair.theirs === undefined) continue;
          expect(theirs[pair.theirs]!.at).toBe(ours[pair.ours]!.at);
        }
        const both = numbered.filter(({ draw }) => draw > 1).length;
        expect(
          pairs.filter(({ ours: one, theirs: other }) => one !== undefined && other !== undefined),
        ).toHaveLength(both);
        expect(pairs).toHaveLength(ours.length + theirs.length - both);
      }),
      { numRuns: 100 },
    );
  });

  it('keeps every play that is there, in order, and says nothing is new when it is laid over again', () => {
    fc.assert(
      fc.property(anyLog, anyLog, fc.constantFrom('log' as const, 'file' as const), (log, file, right) => {
        const once = mergeLogs(log.map(inLog), file.map(fromFile), right);
        const ids = once.flatMap(({ id }) => id ?? []);
        expect(ids).toEqual(log.map((_, at) => `play-${at}`));
        if (right === 'log') {
          for (const [at, play] of log.entries()) {
            expect(once.find(({ id }) => id === `play-${at}`)!.play).toMatchObject(play);
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  it('says that nothing changes when the same file comes again', () => {
    fc.assert(
      fc.property(anyLog, (plays) => {
        const again = mergeLogs(plays.map(inLog), plays.map(fromFile), 'file');
        expect(again.every(({ id, changed }) => id !== undefined && !changed)).toBe(true);
      }),
    );
  });

  it('fills in what nobody logged, and asks who is right where both say something', () => {
    const log = [inLog({ kind: 'run', spot: 30, quarter: 1, clockSeconds: 800, endSpot: 34 }, 0)];
    const file = [
      fromFile({ kind: 'run', spot: 30, quarter: 1, clockSeconds: 800, endSpot: 35, down: 2 }, 2),
    ];
    expect(mergeLogs(log, file, 'log')[0]).toMatchObject({
      id: 'play-0',
      play: { endSpot: 34, down: 2 },
      filled: ['down'],
      differing: [{ fact: 'endSpot' }],
      changed: true,
    });
    expect(mergeLogs(log, file, 'file')[0]).toMatchObject({ play: { endSpot: 35, down: 2 } });
  });
});
