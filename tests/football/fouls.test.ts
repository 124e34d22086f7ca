import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Foul, foulOutcomes, foulsFromText, foulsToText } from '../../server/football/fouls.ts';
import { positions } from '../../server/football/positions.ts';

const anyFoul: fc.Arbitrary<Foul> = fc.record(
  {
    foul: fc.constantFrom('holding', 'offside', 'pass interference', 'helmet-to-helmet contact'),
    by: fc.constantFrom('offense' as const, 'defense' as const),
    reportedBy: fc.constantFrom(...positions),
    outcome: fc.constantFrom(...foulOutcomes),
  },
  { requiredKeys: ['foul', 'by'] },
);

describe('fouls in one cell', () => {
  it('are read back as they were written', () => {
    fc.assert(
      fc.property(fc.array(anyFoul, { maxLength: 5 }), (fouls) => {
        expect(foulsFromText(foulsToText(fouls))).toEqual(fouls);
      }),
    );
  });

  it('say "none" when it is known that there was none', () => {
    expect(foulsToText([])).toBe('none');
    expect(foulsFromText('None')).toEqual([]);
  });

  it('name the part at fault and the fix', () => {
    expect(() => foulsFromText('holding / offense / umpire; offside / nobody')).toThrow(
      /foul "offside \/ nobody": by: .*write "foul \/ offense or defense/,
    );
  });
});
