import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { factsByWorth, undecidedCount, undecidedOn } from '../../server/duties/fact-worth.ts';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { whoOwedWhat } from '../../server/duties/who-owed-what.ts';
import { nothingElseHappened } from '../../server/football/nothing-unusual.ts';
import type { Play } from '../../server/football/play.ts';
import { sampleValues } from '../../server/football/sample-values.ts';
import { anyCompletePlay, anyCrew, anyPlay } from '../support/arbitrary-football.ts';

const rubric = compileRubric(startingRubric);
const crew = fullCrew(8);
const runs = { numRuns: 60 };

const start = { spot: 30, quarter: 1, clockSeconds: 600, down: 2, distance: 7, offense: 'home' } as const;
const run: Play = {
  ...start,
  kind: 'run',
  playSide: 'head linesman side',
  endSpot: 33,
  endSide: 'head linesman side',
  outOfBounds: false,
};
const pass: Play = {
  ...start,
  kind: 'pass',
  passResult: 'complete',
  catchDepth: 6,
  playSide: 'line judge side',
  endSpot: 41,
  endSide: 'line judge side',
  outOfBounds: true,
};

/** Said once more the plain way: the pairs that are neither owed nor known not to be. */
function pairsOpen(play: Play, at = crew): string[] {
  return whoOwedWhat(play, at, rubric).undecided.flatMap(({ duty, positions }) =>
    positions.map((position) => `${duty.key} ${position}`),
  );
}

describe('what a play leaves undecided', () => {
  it('is what the explanation of the play leaves undecided', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, (play, at) => {
        const open = undecidedOn(play, at, rubric).flatMap(({ duty, positions }) =>
          positions.map((position) => `${duty.key} ${position}`),
        );
        expect(open.sort()).toEqual(pairsOpen(play, at).sort());
        expect(undecidedCount(play, at, rubric)).toBe(open.length);
      }),
      runs,
    );
  });

  it('waits for at least one fact each, none of which is logged whole', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, (play, at) => {
        for (const { duty, missing } of undecidedOn(play, at, rubric)) {
          expect(missing, duty.key).not.toEqual([]);
          for (const fact of missing)
            if (fact !== 'fouls') expect(play[fact], `${duty.key} ${fact}`).toBeUndefined();
        }
      }),
      runs,
    );
  });

  it('is nothing once every fact is logged with its fouls whole', () => {
    fc.assert(
      fc.property(anyCompletePlay, anyCrew, (play, at) => {
        expect(undecidedOn(play, at, rubric)).toEqual([]);
      }),
      runs,
    );
  });
});

describe('facts in order of worth', () => {
  it('are none exactly when nothing is undecided', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, (play, at) => {
        expect(factsByWorth(play, at, rubric).length === 0).toBe(pairsOpen(play, at).length === 0);
      }),
      runs,
    );
  });

  it('decide what they promise, whatever the answer is', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, fc.nat(), (play, at, pick) => {
        const before = undecidedCount(play, at, rubric);
        for (const { fact, decides } of factsByWorth(play, at, rubric)) {
          if (fact === 'fouls' || fact === 'kickResult') continue;
          const values = ['endedBy', 'ruledBy', 'clockStoppedBy'].includes(fact)
            ? at.present
            : sampleValues[fact];
          const value = values[pick % values.length];
          const after = undecidedCount({ ...play, [fact]: value }, at, rubric);
          expect(before - after, fact).toBeGreaterThanOrEqual(decides);
        }
      }),
      runs,
    );
  });

  it('come in that order, the rest of one play to its end, and take no answer back', () => {
    // From bare play to decided by answering what is offered first: it ends, and what was owed stays owed.
    for (const bare of [run, pass, { kind: 'punt', spot: 40 }, { kind: 'free kick', spot: 35 }] as Play[]) {
      let play = bare;
      let offered = factsByWorth(play, crew, rubric);
      for (let asked = 0; offered.length > 0; asked++) {
        expect(asked).toBeLessThan(70);
        const [first, second] = offered;
        if (second) expect(first!.expected).toBeGreaterThanOrEqual(second.expected);
        const owed = opportunitiesOf(play, crew, rubric).length;
        const before = undecidedCount(play, crew, rubric);
        const { fact } = first!;
        play = { ...play, [fact]: fact === 'fouls' ? [] : sampleValues[fact][0] };
        expect(undecidedCount(play, crew, rubric)).toBeLessThanOrEqual(before);
        expect(opportunitiesOf(play, crew, rubric).length).toBeGreaterThanOrEqual(owed);
        offered = factsByWorth(play, crew, rubric);
      }
      expect(undecidedCount(play, crew, rubric)).toBe(0);
    }
  });

  it('are few once nothing else happened', () => {
    const open = (play: Play) =>
      factsByWorth(nothingElseHappened(play), crew, rubric).map(({ fact }) => fact);
    expect(open(run)).toEqual(['carrier', 'strongSide', 'yardsFromSideline']);
    expect(open(pass)).toEqual(['throwDepth', 'strongSide']);
    const { endSpot: _end, endSide: _side, outOfBounds: _out, ...thrown } = pass;
    expect(open({ ...thrown, passResult: 'incomplete', catchDepth: 25 })).toEqual([
      'throwDepth',
      'strongSide',
    ]);
    expect(open({ kind: 'try', spot: 97, tryBy: 'kick', kickResult: 'good' })).toEqual([]);
    for (const play of [run, pass]) {
      const before = undecidedCount(play, crew, rubric);
      expect(undecidedCount(nothingElseHappened(play), crew, rubric)).toBeLessThan(before / 20);
    }
  });
});
