import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Fact, facts, type Play, playKinds, playSchema } from '../../server/football/play.ts';
import { sampleValues } from '../../server/football/sample-values.ts';
import { fieldsFor, playFields, sections } from '../../server/reports/entry/play-fields.ts';
import { playFieldGroups, playFromForm } from '../../server/reports/pages/play-form.ts';
import { anyPlay } from '../support/arbitrary-football.ts';

const asked = (play: Play): Fact[] =>
  (['start', 'result', ...sections] as const).flatMap((group) =>
    fieldsFor(play, group).map((field) => field.fact),
  );

describe('the facts an observer is asked for', () => {
  it('are all the facts of a play, each once', () => {
    expect(playFields.map((field) => field.fact).sort()).toEqual([...facts].sort());
  });

  it('offer every value that a fact can have', () => {
    for (const field of playFields) {
      if (field.control === 'choice') expect([...field.options!]).toEqual([...sampleValues[field.fact]]);
      if (field.control === 'yes-no') expect(sampleValues[field.fact]).toEqual([true, false]);
    }
  });

  it('are only those that can matter on such a play', () => {
    const run = asked({ kind: 'run', spot: 40 });
    expect(run).toEqual(expect.arrayContaining(['carrier', 'endSpot', 'endedBy', 'looseBall', 'clockAfter']));
    for (const fact of [
      'kickTo',
      'kickTouchedBy',
      'momentum',
      'passResult',
      'catchDepth',
      'tryBy',
    ] as const) {
      expect(run).not.toContain(fact);
    }
    const punt = asked({ kind: 'punt', spot: 40 });
    expect(punt).toEqual(
      expect.arrayContaining([
        'kickTo',
        'kickSide',
        'kickCrossed',
        'kickTouchedBy',
        'fairCatchSignal',
        'momentum',
      ]),
    );
    expect(asked({ kind: 'free kick', spot: 35 })).not.toContain('motion');
    expect(asked({ kind: 'no snap', spot: 40 })).not.toContain('looseBall');
  });

  it.each([
    ['looseBallSpot', { looseBall: 'fumble' }],
    ['looseBallSide', { looseBall: 'muff' }],
    ['motionFrom', { motion: 'middle' }],
    ['clockStoppedBy', { clockAfter: 'stopped' }],
    ['clockStoppedBy', { clockStoppedFor: 'injury' }],
    ['clockStartsOn', { clockAfter: 'stopped' }],
    ['timeoutBy', { timeout: 'team' }],
    ['helmetOffByFoul', { helmetOff: true }],
  ] satisfies [Fact, Partial<Play>][])('%s only once the facts call for it', (fact, facts) => {
    expect(asked({ kind: 'run', spot: 40 })).not.toContain(fact);
    expect(asked({ kind: 'run', spot: 40, ...facts })).toContain(fact);
  });

  it('show whatever was logged, so that it can be taken away', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        const known = facts.filter((fact) => play[fact] !== undefined);
        expect(asked(play)).toEqual(expect.arrayContaining(known));
      }),
    );
  });

  it.each(playKinds)('leave few in sight on a %s, and the rest in small groups', (kind) => {
    const play: Play = { kind, spot: 40 };
    const inSight = fieldsFor(play, 'start').length + fieldsFor(play, 'result').length;
    expect(inSight).toBeLessThanOrEqual(18);
    for (const section of sections) expect(fieldsFor(play, section).length).toBeLessThanOrEqual(8);
  });
});

describe('a play as a form without script', () => {
  it('is read back as it was shown', () => {
    fc.assert(
      fc.property(anyPlay, (play) => {
        const groups = playFieldGroups(play, undefined, {});
        const form = Object.fromEntries(
          groups.flatMap(({ fields }) => fields.map(({ fact, text }) => [fact, text])),
        );
        expect(playFromForm(form)).toEqual({ play: playSchema.parse(play), wrong: {} });
      }),
    );
  });
});
