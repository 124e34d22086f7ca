import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { effectOf, findings } from '../../server/duties/finding.ts';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/duties/opportunities.ts';
import { countOpportunities } from '../../server/duties/opportunity-counts.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { positions } from '../../server/football/positions.ts';
import { anyCrew, anyPlay } from '../support/arbitrary-football.ts';

const rubric = compileRubric(startingRubric);
const anyLog = fc
  .array(anyPlay, { maxLength: 8 })
  .map((plays) => plays.map((play, n) => ({ id: `p${n}`, play })));
const anyMark = fc.record({
  playId: fc.integer({ min: 0, max: 9 }).map((n) => `p${n}`),
  position: fc.constantFrom(...positions),
  dutyKey: fc.constantFrom('no-such-duty', ...startingRubric.map((duty) => duty.key)),
  finding: fc.constantFrom(...findings),
});

describe('counts kept at filing', () => {
  it('an observation creates the opportunity that the facts did not give, and says so', () => {
    const result = countOpportunities(
      [{ id: 'p1', play: { kind: 'no snap', spot: 40 } }],
      fullCrew(8),
      rubric,
      [{ playId: 'p1', position: 'line judge', dutyKey: 'goal-line-at-the-snap', finding: 'missed' }],
    );
    expect(result.created).toEqual([
      { playId: 'p1', position: 'line judge', dutyKey: 'goal-line-at-the-snap' },
    ]);
    expect(result.counts.filter((row) => row.dutyKey === 'goal-line-at-the-snap')).toEqual([
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

  it('says which observations it could lay nowhere, and why', () => {
    const result = countOpportunities([{ id: 'p1', play: { kind: 'run', spot: 40 } }], fullCrew(7), rubric, [
      { playId: 'p2', position: 'umpire', dutyKey: 'blocks-behind-the-line', finding: 'missed' },
      { playId: 'p1', position: 'center judge', dutyKey: 'blocks-behind-the-line', finding: 'missed' },
      { playId: 'p1', position: 'umpire', dutyKey: 'gone', finding: 'missed' },
    ]);
    expect(result.stray.map((stray) => stray.reason).sort()).toEqual([
      'nobody worked as center judge',
      'the play is not in the play log',
      'the rubric has no duty "gone"',
    ]);
    expect(result.created).toEqual([]);
  });

  it('add up to the opportunities of the plays and those that observations created', () => {
    fc.assert(
      fc.property(anyLog, anyCrew, fc.array(anyMark, { maxLength: 20 }), (log, crew, marks) => {
        const { counts, created } = countOpportunities(log, crew, rubric, marks);
        const total = counts.reduce((sum, row) => sum + row.opportunities, 0);
        const given = log.flatMap(({ play }) => opportunitiesOf(play, crew, rubric)).length;
        expect(total).toBe(given + created.length);
        expect(counts.reduce((sum, row) => sum + row.byObservation, 0)).toBe(created.length);
        for (const row of counts) {
          expect(row.opportunities).toBeGreaterThan(0);
          expect(row.notMet + row.notCounted + row.model).toBeLessThanOrEqual(row.opportunities);
        }
      }),
    );
  });

  it('lose no observation and count none twice, in whatever order they come', () => {
    fc.assert(
      fc.property(anyLog, anyCrew, fc.array(anyMark, { maxLength: 20 }), (log, crew, marks) => {
        const result = countOpportunities(log, crew, rubric, marks);
        expect(countOpportunities(log, crew, rubric, [...marks].reverse()).counts).toEqual(result.counts);

        const stray = new Set(result.stray.map((s) => `${s.playId} ${s.position} ${s.dutyKey}`));
        const cells = new Set(
          marks
            .filter((mark) => effectOf(mark.finding) === 'not met')
            .map((mark) => `${mark.playId} ${mark.position} ${mark.dutyKey}`)
            .filter((cell) => !stray.has(cell)),
        );
        expect(result.counts.reduce((sum, row) => sum + row.notMet, 0)).toBe(cells.size);
      }),
    );
  });
});
