import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rubricDifference } from '../../server/duties/rubric-difference.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { anyDuty } from '../support/arbitrary-football.ts';

const anyRubric = fc.uniqueArray(anyDuty, { maxLength: 4, selector: (duty) => duty.key });

describe('the difference of two rubric versions', () => {
  it('is nothing between a version and itself', () => {
    expect(rubricDifference(startingRubric, startingRubric)).toEqual([]);
  });

  it('names what was added, changed and removed, in words', () => {
    const [first, second, third] = startingRubric.filter(({ category }) => category === 'spotting') as [
      (typeof startingRubric)[number],
      never,
      never,
    ];
    const changed = { ...(second as typeof first), weight: 9, unless: ['fouls-offset' as const] };
    expect(rubricDifference([first, second], [changed, third])).toEqual([
      {
        key: changed.key,
        title: changed.title,
        kind: 'changed',
        parts: [
          { part: 'unless', before: expect.stringContaining('15 yards'), after: 'fouls offset' },
          { part: 'weight', before: '2', after: '9' },
        ],
      },
      { key: (third as typeof first).key, title: (third as typeof first).title, kind: 'added', parts: [] },
      { key: first.key, title: first.title, kind: 'removed', parts: [] },
    ]);
  });

  it('is seen from the other side with added and removed exchanged', () => {
    const count = (kind: string, list: ReturnType<typeof rubricDifference>) =>
      list.filter((one) => one.kind === kind).length;
    fc.assert(
      fc.property(anyRubric, anyRubric, (one, other) => {
        const there = rubricDifference(one, other);
        const back = rubricDifference(other, one);
        expect(count('added', there)).toBe(count('removed', back));
        expect(count('removed', there)).toBe(count('added', back));
        expect(count('changed', there)).toBe(count('changed', back));
      }),
    );
  });
});
