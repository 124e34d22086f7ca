import { expect, it } from 'vitest';
import type { MarkedFinding } from '../../server/duties/marks-of-cells.ts';
import { compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { everybodyWatched, type Watched } from '../../server/duties/watched.ts';
import { compareReports } from '../../server/reports/review/two-reports.ts';

const rubric = compileRubric(startingRubric);
const plays = ['p1', 'p2'].map((id) => ({ id, play: { kind: 'run', spot: 40 } as const }));
const seen = (marks: readonly MarkedFinding[], watched: Watched | null = null) => ({ marks, watched });
const appearance = (first: MarkedFinding[], second: MarkedFinding[]) =>
  compareReports(plays, fullCrew(7), rubric, seen(first), seen(second), 0.8).duties.find(
    ({ dutyKey }) => dutyKey === 'appearance',
  );

it('compares a duty of the whole game once for each official, whatever plays it was marked on', () => {
  const missed = { position: 'umpire', dutyKey: 'appearance', finding: 'missed' } as const;
  const both = appearance([{ ...missed, playId: 'p1' }], [{ ...missed, playId: 'p2' }]);
  expect(both).toMatchObject({ judged: 7, bothMet: 6, bothNotMet: 1, onlyFirst: 0, onlySecond: 0 });
  const twice = appearance(
    [
      { ...missed, playId: 'p1' },
      { ...missed, playId: 'p2', finding: 'done' },
    ],
    [],
  );
  expect(twice).toMatchObject({ judged: 7, bothMet: 6, onlyFirst: 1 });
});

it('compares only what both watched and the log gives: a mark on anything else is no disagreement', () => {
  const missed = { position: 'umpire', dutyKey: 'blocks-behind-the-line', finding: 'missed' } as const;
  const duty = startingRubric.find(({ key }) => key === 'blocks-behind-the-line')!;
  const umpires = (first: ReturnType<typeof seen>, second: ReturnType<typeof seen>, log = plays) =>
    compareReports(log, fullCrew(7), compileRubric([{ ...duty, positions: ['umpire'] }]), first, second, 0.8)
      .overall;
  const all = umpires(seen([{ ...missed, playId: 'p1' }]), seen([]));
  expect(all).toMatchObject({ judged: 2, bothMet: 1, onlyFirst: 1 });
  const notThere = seen([], {
    ...everybodyWatched,
    stretches: [{ from: 'p1', to: 'p1', positions: [] }],
  });
  expect(umpires(seen([{ ...missed, playId: 'p1' }]), notThere)).toMatchObject({ judged: 1, bothMet: 1 });
  const kneel = [{ id: 'p1', play: { kind: 'no snap', spot: 40 } as const }];
  expect(umpires(seen([{ ...missed, playId: 'p1' }]), seen([]), kneel as never)).toMatchObject({ judged: 0 });
});
