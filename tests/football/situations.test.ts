// @module-tag long
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mirrorPlay } from '../../server/football/mirror.ts';
import type { Play } from '../../server/football/play.ts';
import { explain, factsReadBy } from '../../server/football/situations/explain.ts';
import { situationOf, situations } from '../../server/football/situations/index.ts';
import { anyCompletePlay, anyFactValue, anyPlay } from '../support/arbitrary-football.ts';

// Logged as in question or not, the observer's word prevails over the yard lines; and a snap is for a play until it is
// logged that it was not. These two may change.
const observersWordPrevails: readonly string[] = ['line-to-gain-in-question', 'kneel-or-spike'];

describe('situations', () => {
  it('have unique names and clauses', () => {
    expect(new Set(situations.map((s) => s.key)).size).toBe(situations.length);
    expect(new Set(situations.map((s) => s.clause)).size).toBe(situations.length);
  });

  it('read only the facts that they declare', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        for (const situation of situations) {
          for (const fact of factsReadBy(play, situation.decide).read)
            expect(situation.reads).toContain(fact);
        }
      }),
    );
  });

  it('never take back an answer when a fact is added', () => {
    fc.assert(
      fc.property(anyPlay, anyFactValue, (play, { fact, value }) => {
        if (play[fact] !== undefined) return;
        // A clock that was read corrects the estimate.
        if (fact === 'clockSeconds' && play.clockAbout !== undefined) return;
        const more = { ...play, [fact]: value } as Play;
        for (const { key, decide } of situations) {
          const before = decide(play);
          if (before !== 'unknown' && !observersWordPrevails.includes(key))
            expect(decide(more), key).toBe(before);
        }
      }),
      { numRuns: 1000 },
    );
  });

  it('are decided by every complete play', () => {
    fc.assert(
      fc.property(anyCompletePlay, (play) => {
        for (const { key, decide } of situations) expect(decide(play), key).not.toBe('unknown');
      }),
      { numRuns: 500 },
    );
  });

  it('name only facts that were not logged as missing, and none when they know', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        for (const { decide } of situations) {
          const { truth, missing } = explain(decide, play);
          if (truth !== 'unknown') expect(missing).toEqual([]);
          for (const fact of missing) expect(play[fact]).toBeUndefined();
        }
      }),
    );
  });

  it('are explained by facts that are enough by themselves', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        for (const { key, decide } of situations) {
          const { truth, decidedBy } = explain(decide, play);
          if (truth === 'unknown') continue;
          const alone = { kind: play.kind, spot: play.spot } as Record<string, unknown>;
          for (const fact of decidedBy) alone[fact] = play[fact];
          expect(decide(alone as Play), key).toBe(truth);
        }
      }),
    );
  });

  it('do not care which side of the field a play is on', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        const mirrored = mirrorPlay(play);
        for (const { key, decide } of situations) expect(decide(mirrored), key).toBe(decide(play));
      }),
    );
  });

  it('mirrored twice, a play is itself', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        expect(mirrorPlay(mirrorPlay(play))).toEqual(play);
      }),
    );
  });
});

describe('the line to gain', () => {
  const { decide } = situationOf('line-to-gain-in-question');
  const play: Play = { kind: 'run', spot: 40, distance: 5, endSpot: 45, score: 'none' };

  it('is in question within a yard', () => {
    expect([43, 44, 45, 46, 47].map((endSpot) => decide({ ...play, endSpot }))).toEqual([
      false,
      true,
      true,
      true,
      false,
    ]);
  });
  it('is in question or not as the observer says', () => {
    expect(decide({ ...play, endSpot: 44, lineToGainInQuestion: false })).toBe(false);
    expect(decide({ ...play, endSpot: 60, lineToGainInQuestion: true })).toBe(true);
  });
  it('is unknown without the distance', () => {
    expect(decide({ ...play, distance: undefined })).toBe('unknown');
  });
});

describe('what cannot have happened', () => {
  const play = (facts: Partial<Play>): Play => ({ kind: 'run', spot: 30, looseBall: 'none', ...facts });
  it('is false although nobody said so, and open where it could have happened', () => {
    const momentum = (facts: Partial<Play>) => situationOf('momentum').decide(play(facts));
    expect(momentum({})).toBe(false);
    expect(momentum({ kind: 'pass', passResult: 'complete' })).toBe(false);
    expect(momentum({ kind: 'pass', passResult: 'intercepted' })).toBe('unknown');
    expect(momentum({ looseBall: 'fumble' })).toBe('unknown');
    expect(momentum({ looseBall: 'fumble', momentum: true })).toBe(true);
    expect(momentum({ kind: 'punt' })).toBe('unknown');
    expect(situationOf('measured').decide(play({ kind: 'free kick' }))).toBe(false);
    expect(situationOf('measured').decide(play({ kind: 'no snap' }))).toBe('unknown');
    const inQuestion = (facts: Partial<Play>) =>
      situationOf('fumble-or-down-in-question').decide(play(facts));
    expect(inQuestion({})).toBe('unknown');
    expect(inQuestion({ kind: 'no snap' })).toBe(false);
    expect(inQuestion({ kind: 'punt', kickResult: 'fair catch' })).toBe(false);
    expect(inQuestion({ kind: 'punt', kickResult: 'returned' })).toBe('unknown');
    expect(situationOf('pile').decide(play({ kind: 'no snap' }))).toBe(false);
    const good = play({ kind: 'try', tryBy: 'kick', kickResult: 'good' });
    expect(situationOf('out-of-bounds').decide(good)).toBe(false);
  });
});
