import fc from 'fast-check';
import { type Duty, dutyCategories, dutySchema } from '../../server/duties/duty.ts';
import type { CrewAtWork } from '../../server/duties/opportunities.ts';
import { selectorKeys } from '../../server/duties/selectors/index.ts';
import { positionsOf } from '../../server/football/crews.ts';
import { type Fact, facts, type Play, playSchema } from '../../server/football/play.ts';
import { crewSizes, positions } from '../../server/football/positions.ts';
import { sampleValues } from '../../server/football/sample-values.ts';
import { situationKeys } from '../../server/football/situations/index.ts';

// Yards and clocks range over all their values, not only over the samples that the search for examples uses.
const wholeRange: Partial<Record<Fact, fc.Arbitrary<unknown>>> = {
  spot: fc.integer({ min: 0, max: 100 }),
  endSpot: fc.integer({ min: 0, max: 100 }),
  clockSeconds: fc.integer({ min: 0, max: 900 }),
  distance: fc.integer({ min: 1, max: 30 }),
  catchDepth: fc.integer({ min: -20, max: 60 }),
  throwDepth: fc.integer({ min: -20, max: 10 }),
};

const anyValueOf = (fact: Fact): fc.Arbitrary<unknown> =>
  wholeRange[fact] ?? fc.constantFrom(...sampleValues[fact]);

/** Any play: kind and spot, and each other fact logged or not. */
export const anyPlay: fc.Arbitrary<Play> = fc
  .record(Object.fromEntries(facts.map((fact) => [fact, anyValueOf(fact)])), {
    requiredKeys: ['kind', 'spot'],
  })
  .map((play) => playSchema.parse(play));

/** Any play with every fact logged. */
export const anyCompletePlay: fc.Arbitrary<Play> = fc
  .record(Object.fromEntries(facts.map((fact) => [fact, anyValueOf(fact)])))
  .map((play) => playSchema.parse(play));

/** A fact and a value for it. */
export const anyFactValue: fc.Arbitrary<{ fact: Fact; value: unknown }> = fc
  .constantFrom(...facts.filter((fact) => fact !== 'kind' && fact !== 'spot'))
  .chain((fact) => anyValueOf(fact).map((value) => ({ fact, value })));

export const anyCrewSize = fc.constantFrom(...crewSizes);

/** A crew, full or with officials missing; the referee is always there. */
export const anyCrew: fc.Arbitrary<CrewAtWork> = anyCrewSize.chain((size) =>
  fc
    .subarray(positionsOf(size).filter((position) => position !== 'referee'))
    .map((others) => ({ size, present: ['referee' as const, ...others] })),
);

const anySituations = (maxLength: number) => fc.uniqueArray(fc.constantFrom(...situationKeys), { maxLength });

/** Any duty whose parts are valid; it may still be one that can never apply. */
export const anyDuty: fc.Arbitrary<Duty> = fc
  .record({
    key: fc.stringMatching(/^[a-z][a-z0-9]{0,8}(-[a-z0-9]{1,8}){0,2}$/),
    title: fc.constantFrom('A duty', 'Another duty'),
    category: fc.constantFrom(...dutyCategories),
    expected: fc.constant('do what is expected'),
    positions: fc.subarray([...positions], { minLength: 1 }),
    crewSizes: fc.subarray([...crewSizes], { minLength: 1 }),
    who: fc.constantFrom(...selectorKeys),
    allOf: anySituations(3),
    anyOf: anySituations(3),
    unless: anySituations(2),
    weight: fc.double({ min: 0.001, max: 100, noNaN: true }),
    gradedAs: fc.constantFrom('mechanics' as const, 'call' as const),
  })
  .filter((duty) => duty.allOf.length + duty.anyOf.length > 0)
  .map((duty) => dutySchema.parse(duty));

/**
 * Facts that let the observer overrule what was derived from others: who ended the play, ruled or stopped the clock,
 * whether the line to gain was in question, that a snap was only to kneel or spike, on which side a kick came down when
 * so far only the side where it was dead was known, and what the clock was when so far it was only estimated.
 */
export const overrulingFacts: readonly Fact[] = [
  'endedBy',
  'ruledBy',
  'clockStoppedBy',
  'lineToGainInQuestion',
  'snapFor',
  'kickSide',
  'clockSeconds',
];
