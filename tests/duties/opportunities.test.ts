import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Duty } from '../../server/duties/duty.ts';
import {
  compileRubric,
  fullCrew,
  type Opportunity,
  opportunitiesOf,
} from '../../server/duties/opportunities.ts';
import { byKick } from '../../server/duties/selectors/by-kick.ts';
import { selectorOf } from '../../server/duties/selectors/index.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { whoOwedWhat } from '../../server/duties/who-owed-what.ts';
import { deepWings, mirrorPosition } from '../../server/football/crews.ts';
import { mirrorPlay } from '../../server/football/mirror.ts';
import type { Play } from '../../server/football/play.ts';
import { positions } from '../../server/football/positions.ts';
import { mirrorPractices, usualPractices } from '../../server/football/practices.ts';
import { situationOf } from '../../server/football/situations/index.ts';
import { anyCrew, anyDuty, anyFactValue, anyPlay, overrulingFacts } from '../support/arbitrary-football.ts';

const starting = compileRubric(startingRubric);
const anyDuties = fc.uniqueArray(anyDuty, { minLength: 1, maxLength: 4, selector: (duty) => duty.key });
/** The starting rubric, and rubrics that a coordinator might make up. */
const anyRubric = fc.oneof(fc.constant(startingRubric as Duty[]), anyDuties);

const names = (list: readonly Opportunity[]) => list.map((o) => `${o.dutyKey}: ${o.position}`).sort();

function factsOf(duty: Duty): Set<string> {
  return new Set([
    ...[...duty.allOf, ...duty.anyOf, ...duty.unless].flatMap((key) => situationOf(key).reads),
    ...selectorOf(duty.who).reads,
  ]);
}

function mirrorDuty(duty: Duty): Duty {
  return {
    ...duty,
    positions: duty.positions.map(mirrorPosition),
    instead: duty.instead.map((other) => ({ ...other, positions: other.positions.map(mirrorPosition) })),
  };
}

describe('opportunities', () => {
  it('are not changed by a fact that the duty does not look at', () => {
    fc.assert(
      fc.property(anyPlay, anyFactValue, anyCrew, anyRubric, (play, { fact, value }, crew, duties) => {
        const unrelated = compileRubric(duties.filter((duty) => !factsOf(duty).has(fact)));
        const other = { ...play, [fact]: value } as Play;
        expect(names(opportunitiesOf(other, crew, unrelated))).toEqual(
          names(opportunitiesOf(play, crew, unrelated)),
        );
      }),
    );
  });

  it('are never taken back when any fact is added to the log', () => {
    fc.assert(
      fc.property(anyPlay, anyFactValue, anyCrew, anyRubric, (play, { fact, value }, crew, duties) => {
        if (play[fact] !== undefined || overrulingFacts.includes(fact)) return;
        const rubric = compileRubric(duties);
        const before = names(opportunitiesOf(play, crew, rubric));
        const after = names(opportunitiesOf({ ...play, [fact]: value } as Play, crew, rubric));
        expect(after).toEqual(expect.arrayContaining(before));
      }),
      { numRuns: 500 },
    );
  });

  // Crews without deep wings send one wing to the receivers on kicks and keep the other at a line: which of the two is
  // a habit of the trade, not of the play, so who stands where on kicks is left out for them.
  it('of mirrored plays go to the mirrored officials', () => {
    const onKicks = new Set<string>(byKick.map(({ key }) => key));
    fc.assert(
      fc.property(anyPlay, anyCrew, anyRubric, (play, crew, all) => {
        const hasDeepWings = deepWings.some((position) => crew.present.includes(position));
        const duties = hasDeepWings ? all : all.filter((duty) => !onKicks.has(duty.who));
        const here = opportunitiesOf(play, crew, compileRubric(duties));
        const there = opportunitiesOf(
          mirrorPlay(play),
          { size: crew.size, present: crew.present.map(mirrorPosition) },
          compileRubric(duties.map(mirrorDuty), mirrorPractices(usualPractices)),
        );
        expect(names(there)).toEqual(
          names(here.map((o) => ({ ...o, position: mirrorPosition(o.position) }))),
        );
      }),
    );
  });

  it('belong to positions that are at work, once each', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, anyRubric, (play, crew, duties) => {
        const owed = opportunitiesOf(play, crew, compileRubric(duties));
        for (const { position } of owed) expect(crew.present).toContain(position);
        expect(new Set(names(owed)).size).toBe(owed.length);
      }),
    );
  });

  it('exist only for duties of this crew size', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, anyRubric, (play, crew, duties) => {
        const sizes = new Map(duties.map((duty) => [duty.key, duty.crewSizes]));
        for (const { dutyKey } of opportunitiesOf(play, crew, compileRubric(duties))) {
          expect(sizes.get(dutyKey)).toContain(crew.size);
        }
      }),
    );
  });

  it('do not depend on the order of the duties', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, anyRubric, (play, crew, duties) => {
        expect(names(opportunitiesOf(play, crew, compileRubric([...duties].reverse())))).toEqual(
          names(opportunitiesOf(play, crew, compileRubric(duties))),
        );
      }),
    );
  });

  it('are the ones that the explanation gives, and what stays undecided is owed by nobody', () => {
    fc.assert(
      fc.property(anyPlay, anyCrew, anyRubric, (play, crew, duties) => {
        const rubric = compileRubric(duties);
        const owed = opportunitiesOf(play, crew, rubric);
        const explained = whoOwedWhat(play, crew, rubric);
        expect(explained.owed.map((o) => `${o.duty.key}: ${o.position}`).sort()).toEqual(names(owed));
        for (const { duty, positions: open } of explained.undecided) {
          for (const position of open) expect(names(owed)).not.toContain(`${duty.key}: ${position}`);
        }
      }),
    );
  });
});

describe('the starting rubric on plays', () => {
  const owedOn = (play: Play, size: 4 | 5 | 6 | 7 | 8 = 7) =>
    names(opportunitiesOf(play, fullCrew(size), starting));

  it('gives no side, no spot and no end of a play that nobody logged', () => {
    const owed = owedOn({ kind: 'run', spot: 40 });
    expect(owed).toContain('blocks-behind-the-line: umpire');
    expect(owed.filter((name) => name.startsWith('dead-ball-signal'))).toEqual([]);
    expect(owed.filter((name) => name.startsWith('square-up'))).toEqual([]);
  });

  it('puts both wings on the goal line at a snap on the 3, and not on the 6', () => {
    const wings = ['goal-line-at-the-snap: head linesman', 'goal-line-at-the-snap: line judge'];
    expect(owedOn({ kind: 'run', spot: 97 })).toEqual(expect.arrayContaining(wings));
    for (const name of wings) expect(owedOn({ kind: 'run', spot: 94 })).not.toContain(name);
  });

  it('sends the wings back on the reverse goal line', () => {
    expect(owedOn({ kind: 'pass', spot: 4 })).toContain('reverse-goal-line: line judge');
    expect(owedOn({ kind: 'pass', spot: 4 })).not.toContain('hold-at-the-line: line judge');
  });

  it('gives the sideline to the wing of that side only', () => {
    const owed = owedOn({ kind: 'run', spot: 40, playSide: 'line judge side' });
    expect(owed).toContain('stay-outside-the-sideline: line judge');
    expect(owed).not.toContain('stay-outside-the-sideline: head linesman');
    expect(owed).toContain('backside-of-the-run: head linesman');
  });

  it('gives the duties of a center judge to the umpire in a crew of seven', () => {
    const owed = opportunitiesOf(
      { kind: 'pass', spot: 40, passResult: 'complete', catchDepth: 12 },
      fullCrew(7),
      starting,
    );
    expect(owed.filter((o) => o.dutyKey === 'ineligibles-downfield')).toEqual([
      { position: 'umpire', dutyKey: 'ineligibles-downfield' },
    ]);
  });

  it('can give something to every position of every crew size', () => {
    const plays = fc.sample(anyPlay, { numRuns: 400, seed: 7 });
    for (const size of [4, 5, 6, 7, 8] as const) {
      const seen = new Set(
        plays.flatMap((play) => opportunitiesOf(play, fullCrew(size), starting)).map((o) => o.position),
      );
      expect([...seen].sort()).toEqual([...fullCrew(size).present].sort());
    }
    expect(positions).toHaveLength(8);
  });
});
