import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Foul,
  foulMoments,
  foulOutcomes,
  foulsFromText,
  foulsToText,
} from '../../server/football/fouls.ts';
import { positions } from '../../server/football/positions.ts';

const anyFoul: fc.Arbitrary<Foul> = fc.record(
  {
    foul: fc.constantFrom('holding', 'offside', 'pass interference', 'helmet-to-helmet contact'),
    by: fc.constantFrom('offense' as const, 'defense' as const),
    reportedBy: fc.constantFrom(...positions),
    outcome: fc.constantFrom(...foulOutcomes),
    player: fc.constantFrom('72', 'coach', '#5'),
    moment: fc.constantFrom(...foulMoments),
    spot: fc.integer({ min: 0, max: 100 }),
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
    expect(() => foulsFromText(' ; ;')).toThrow(/no foul is named; write "none"/);
  });

  it('may leave any part after the team empty, and write a position as the trade does', () => {
    expect(foulsFromText('holding / offense / HL / Picked Up / / dead ball / 38')).toEqual([
      {
        foul: 'holding',
        by: 'offense',
        reportedBy: 'head linesman',
        outcome: 'picked up',
        moment: 'dead ball',
        spot: 38,
      },
    ]);
    expect(() => foulsFromText('holding / offense / umpire / accepted / 72 / live ball / 138')).toThrow(
      /spot must be 0 to 100/,
    );
    expect(() => foulsFromText('holding / offense / / / / / 38 / more')).toThrow(/too many parts/);
  });

  it('name the part at fault and the fix', () => {
    expect(() => foulsFromText('holding / offense / umpire; offside / nobody')).toThrow(
      /foul "offside \/ nobody": by: .*write "foul \/ offense or defense/,
    );
  });
});
