import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Duty } from '../../server/duties/duty.ts';
import { dutySchema } from '../../server/duties/duty.ts';
import { checkDuty } from '../../server/duties/refusals.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { dutyFormView, dutyFromForm } from '../../server/rubric-editing/duty-form.ts';
import type { Form } from '../../server/web/form.ts';
import { anyDuty } from '../support/arbitrary-football.ts';

/** What a browser sends for a duty's form when nothing is touched. */
function formAsShown(duty: Duty): Form {
  const { situationLists, positions, crewSizes, instead, selectors, categories, isCall, isOfTheGame } =
    dutyFormView(duty);
  const chosen = <T extends { chosen: boolean }>(choices: readonly T[]) =>
    choices.filter((one) => one.chosen);
  const form: Form = {
    key: duty.key,
    title: duty.title,
    expected: duty.expected,
    guidance: duty.guidance,
    source: duty.source,
    weight: String(duty.weight),
    per: isOfTheGame ? 'game' : 'play',
    gradedAs: isCall ? 'call' : 'mechanics',
    category: chosen(categories)[0]!.name,
    who: chosen(selectors)[0]!.key,
    positions: chosen(positions).map((one) => one.name),
    crewSizes: chosen(crewSizes).map((one) => String(one.size)),
  };
  for (const { size, positions: others } of instead) {
    form[`instead-${size}`] = chosen(others).map((one) => one.name);
  }
  for (const { name, choices } of situationLists) {
    form[name] = choices.map(
      ({ groups }) => chosen(groups.flatMap((group) => group.situations))[0]?.key ?? '',
    );
  }
  return form;
}

/** Order of positions and sizes carries no meaning. */
const sorted = (duty: Duty): Duty => ({
  ...duty,
  positions: [...duty.positions].sort(),
  crewSizes: [...duty.crewSizes].sort(),
  instead: duty.instead.map((other) => ({ ...other, positions: [...other.positions].sort() })),
});

describe("a duty's form", () => {
  it('sent back untouched is the same duty', () => {
    for (const duty of startingRubric) {
      expect(sorted(dutySchema.parse(dutyFromForm(formAsShown(duty), duty.key)))).toEqual(sorted(duty));
    }
    fc.assert(
      fc.property(anyDuty, (duty) => {
        expect(sorted(dutySchema.parse(dutyFromForm(formAsShown(duty))))).toEqual(sorted(duty));
      }),
    );
  });

  it('makes a key from the title when none is given', () => {
    expect(dutyFromForm({ title: '  Señal — dead ball! ' }).key).toBe('sen-al-dead-ball');
    expect(dutyFromForm({ title: 'Count', key: 'count-aloud' }).key).toBe('count-aloud');
  });

  it('is answered with refusals beside fields, whatever is sent', () => {
    const text = fc.oneof(fc.string(), fc.constantFrom('', '1', 'run', 'each', 'line judge', 'NaN', '1e999'));
    const value = fc.oneof(text, fc.array(text, { maxLength: 12 }), fc.constant(undefined));
    const names = ['key', 'title', 'category', 'expected', 'positions', 'crewSizes', 'instead-4', 'who'];
    const more = [
      'allOf',
      'anyOf',
      'unless',
      'weight',
      'gradedAs',
      'guidance',
      'source',
      '__proto__',
      'extra',
    ];
    const anyForm = fc.record(Object.fromEntries([...names, ...more].map((name) => [name, value])));
    fc.assert(
      fc.property(anyForm, (form) => {
        const values = dutyFromForm(form as Form);
        const check = checkDuty(values);
        const { errors } = dutyFormView(values, check.ok ? [] : check.refusals);
        if (!check.ok) expect(Object.keys(errors).length).toBeGreaterThan(0);
      }),
    );
  });
});
