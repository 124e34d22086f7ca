import { describe, expect, it } from 'vitest';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/rubric/opportunities.ts';
import { countOpportunities } from '../../server/rubric/opportunity-counts.ts';
import { startingRubric } from '../../server/rubric/starting-rubric.ts';

const rubric = compileRubric(startingRubric);

describe('opportunities of a play', () => {
  it('gives nothing that the facts do not give', () => {
    const owed = opportunitiesOf({ kind: 'run', spot: 40 }, fullCrew(8), rubric);
    expect(owed).toEqual([]);
  });

  it('puts both wings on the goal line at a snap on the 3', () => {
    const owed = opportunitiesOf({ kind: 'run', spot: 97 }, fullCrew(7), rubric);
    expect(owed.filter((o) => o.dutyKey === 'goal-line-at-the-snap').map((o) => o.position)).toEqual([
      'head linesman',
      'line judge',
    ]);
  });

  it('an observation creates the opportunity that the facts did not give, and says so', () => {
    const result = countOpportunities([{ id: 'p1', play: { kind: 'run', spot: 40 } }], fullCrew(8), rubric, [
      { playId: 'p1', position: 'line judge', dutyKey: 'goal-line-at-the-snap', finding: 'missed' },
    ]);
    expect(result.created).toEqual([
      { playId: 'p1', position: 'line judge', dutyKey: 'goal-line-at-the-snap' },
    ]);
    expect(result.counts).toEqual([
      {
        position: 'line judge',
        dutyKey: 'goal-line-at-the-snap',
        opportunities: 1,
        notMet: 1,
        notCounted: 0,
        model: 0,
        byObservation: 1,
      },
    ]);
  });
});
