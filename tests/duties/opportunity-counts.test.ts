import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exampleFor } from '../../server/duties/applicability.ts';
import { consequences, costOf, mayHaveConsequence } from '../../server/duties/consequence.ts';
import { decidedShare } from '../../server/duties/decided-share.ts';
import { dutySchema } from '../../server/duties/duty.ts';
import { effectOf, findings } from '../../server/duties/finding.ts';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/duties/opportunities.ts';
import { countOpportunities, type LoggedPlay } from '../../server/duties/opportunity-counts.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { watchedOn } from '../../server/duties/watched.ts';
import { type Fact, facts, type Play } from '../../server/football/play.ts';
import { positions } from '../../server/football/positions.ts';
import { anyCompletePlay, anyCrew, anyPlay, overrulingFacts } from '../support/arbitrary-football.ts';

const rubric = compileRubric(startingRubric);
const gameDuties = new Set(startingRubric.filter(({ per }) => per === 'game').map(({ key }) => key));
const anyLog = fc
  .array(anyPlay, { maxLength: 8 })
  .map((plays) => plays.map((play, n) => ({ id: `p${n}`, play })));
const anyMark = fc
  .record({
    playId: fc.integer({ min: 0, max: 9 }).map((n) => `p${n}`),
    position: fc.constantFrom(...positions),
    dutyKey: fc.constantFrom('no-such-duty', ...startingRubric.map((duty) => duty.key)),
    finding: fc.constantFrom(...findings),
    consequence: fc.constantFrom(null, undefined, ...consequences),
  })
  .map(({ consequence, ...mark }) => (mayHaveConsequence(mark.finding) ? { ...mark, consequence } : mark));

const anyMarks = fc.array(anyMark, { maxLength: 20 });
const anyShare = fc.constantFrom(0, 0.5, 0.8, 1);
const anyEnd = fc.option(
  fc.integer({ min: 0, max: 9 }).map((n) => `p${n}`),
  { nil: null },
);
const anyPositions = fc.subarray([...positions]);
const anyWatched = fc.record({
  positions: anyPositions,
  stretches: fc.array(fc.record({ from: anyEnd, to: anyEnd, positions: anyPositions }), { maxLength: 3 }),
});
/** Everybody watched on every play, and everything counts that is found. */
const everything = { decidedShareLeast: 0 };

describe('counts kept at filing', () => {
  it('take no mark on what was not owed, was left open or was not watched, and say which it was', () => {
    const mark = { finding: 'missed' } as const;
    const { counts, standings } = countOpportunities(
      [
        { id: 'p1', play: { kind: 'no snap', spot: 40 } },
        // Nobody can say whether the ball was loose.
        { id: 'p2', play: { kind: 'run', spot: 40 } },
        { id: 'p3', play: { kind: 'run', spot: 98 } },
        { id: 'p4', play: { kind: 'run', spot: 98 } },
      ],
      fullCrew(8),
      rubric,
      [
        { ...mark, playId: 'p1', position: 'line judge', dutyKey: 'goal-line-at-the-snap' },
        { ...mark, playId: 'p2', position: 'referee', dutyKey: 'call-fumble-or-down', finding: 'wrong call' },
        { ...mark, playId: 'p3', position: 'line judge', dutyKey: 'goal-line-at-the-snap' },
        { ...mark, playId: 'p4', position: 'line judge', dutyKey: 'goal-line-at-the-snap' },
      ],
      { watchedOn: (playId) => playId !== 'p4', decidedShareLeast: 0 },
    );
    expect(standings).toEqual(['not owed', 'undecided', 'counted', 'not watched']);
    expect(
      counts.find((row) => row.dutyKey === 'goal-line-at-the-snap' && row.position === 'line judge'),
    ).toMatchObject({ opportunities: 1, notMet: 1, undecided: 0, unwatched: 1, setAside: 0 });
    expect(counts.find((row) => row.dutyKey === 'call-fumble-or-down')).toMatchObject({
      ...{ opportunities: 0, notMet: 0, undecided: 2 },
    });
  });

  it('leave out a duty of which too little is decided, its misses with it, and keep what was found beside', () => {
    const log = [true, true, true, false].map(
      (settled, n): LoggedPlay => ({
        id: `p${n}`,
        play: { kind: 'run', spot: 40, ...(settled ? { looseBall: 'fumble', looseBallSpot: 41 } : {}) },
      }),
    );
    const marks = [
      { playId: 'p0', position: 'referee', dutyKey: 'fumbles', finding: 'missed' },
      { playId: 'p1', position: 'referee', dutyKey: 'fumbles', finding: 'model' },
    ] as const;
    const duty = dutySchema.parse({
      ...{ key: 'fumbles', title: 'Fumbles', category: 'loose ball', expected: 'see fumbles' },
      ...{ positions: ['referee'], crewSizes: [8], allOf: ['loose-ball'], weight: 1, gradedAs: 'mechanics' },
    });
    const at = (decidedShareLeast: number) =>
      countOpportunities(log, fullCrew(8), compileRubric([duty]), marks, { decidedShareLeast });
    // Of three plays that say whether the ball was loose, three were: the fourth holds (3 + 1/2) / (3 + 1) of a chance.
    const likely = 3.5 / 4;
    const share = 3 / (3 + likely);
    expect(at(share).counts).toMatchObject([
      { opportunities: 3, notMet: 1, model: 1, undecided: 1, likely, setAside: 0, setAsideNotMet: 0 },
    ]);
    expect(at(share).standings).toEqual(['counted', 'counted']);
    expect(at(share + 0.01).counts).toMatchObject([
      { opportunities: 0, notMet: 0, model: 0, undecided: 1, likely, setAside: 3, setAsideNotMet: 1 },
    ]);
    expect(at(share + 0.01).standings).toEqual(['thin log', 'thin log']);
  });

  it('take a play left open for as much of a chance as like plays of the log were', () => {
    const duty = dutySchema.parse({
      ...{ key: 'wet', title: 'Ball out of bounds', category: 'spotting', expected: 'mark it' },
      ...{
        positions: ['referee'],
        crewSizes: [8],
        allOf: ['run', 'loose-ball'],
        weight: 1,
        gradedAs: 'mechanics',
      },
    });
    const plays = (count: number, facts: Partial<Play>, kind: 'run' | 'pass' = 'run') =>
      Array.from({ length: count }, (): Play => ({ kind, spot: 40, ...facts }));
    const log = [
      ...plays(2, { looseBall: 'fumble' }),
      ...plays(7, { looseBall: 'none' }),
      // Passes never give it: they say nothing of runs.
      ...plays(90, { looseBall: 'none' }, 'pass'),
      ...plays(4, {}),
    ].map((play, n) => ({ id: `p${n}`, play }));
    const { counts } = countOpportunities(log, fullCrew(8), compileRubric([duty]), [], {
      decidedShareLeast: 0,
    });
    expect(counts).toMatchObject([{ opportunities: 2, undecided: 4, likely: (4 * 2.5) / 10 }]);
  });

  it('of two misses of one call, the one that cost more counts, and one judged before one not judged', () => {
    const play = exampleFor(startingRubric.find(({ key }) => key === 'call-touchdown')!)!;
    const { position, dutyKey } = opportunitiesOf(play, fullCrew(8), rubric).find(
      (owed) => owed.dutyKey === 'call-touchdown',
    )!;
    const at = { playId: 'p1', position, dutyKey };
    const of = (...costs: ((typeof consequences)[number] | null)[]) =>
      countOpportunities(
        [{ id: 'p1', play }],
        fullCrew(8),
        rubric,
        costs.map((consequence) => ({ ...at, finding: 'wrong call' as const, consequence })),
        everything,
      ).counts.find((row) => row.dutyKey === at.dutyKey && row.position === at.position);
    expect(of('yards', 'score', 'none')).toMatchObject({ notMet: 1, costs: { score: 1, yards: 0, none: 0 } });
    expect(of(null, 'none')).toMatchObject({ notMet: 1, costs: { none: 1 } });
    expect(of(null)).toMatchObject({ notMet: 1, costs: { none: 0, yards: 0, possession: 0, score: 0 } });
  });

  it('a miss costs the weight of its consequence, and one not judged exactly one opportunity', () => {
    const nothing = { none: 0, yards: 0, possession: 0, score: 0 };
    const weights = { none: 1, yards: 1.5, possession: 2.5, score: 4 };
    // Five misses: one cost a score (4), two possession (5), one yards (1.5), one was not judged (1).
    expect(costOf(5, { none: 0, yards: 1, possession: 2, score: 1 }, weights)).toBe(11.5);
    expect(costOf(5, nothing, weights)).toBe(5);
    expect(costOf(2, { ...nothing, none: 1 }, { ...weights, none: 0.5 })).toBe(1.5);
    expect(costOf(7, nothing, { none: 0.1, yards: 20, possession: 20, score: 20 })).toBe(7);
  });

  it('says which observations it could lay nowhere, and why', () => {
    const result = countOpportunities(
      [{ id: 'p1', play: { kind: 'run', spot: 40 } }],
      fullCrew(7),
      rubric,
      [
        { playId: 'p2', position: 'umpire', dutyKey: 'blocks-behind-the-line', finding: 'missed' },
        { playId: 'p1', position: 'center judge', dutyKey: 'blocks-behind-the-line', finding: 'missed' },
        { playId: 'p1', position: 'umpire', dutyKey: 'gone', finding: 'missed' },
      ],
      everything,
    );
    expect(result.stray.map((stray) => stray.reason).sort()).toEqual([
      'nobody worked as center judge',
      'the play is not in the play log',
      'the rubric has no duty "gone"',
    ]);
    expect(result.standings).toEqual([undefined, undefined, undefined]);
  });

  describe('of duties of the whole game', () => {
    const log = ['p1', 'p2'].map((id) => ({ id, play: { kind: 'run', spot: 40 } as const }));
    const appearance = (crewSize: 4 | 8, marks: Parameters<typeof countOpportunities>[3], plays = log) =>
      countOpportunities(plays, fullCrew(crewSize), rubric, marks, everything).counts.filter(
        (row) => row.dutyKey === 'appearance',
      );

    it('are one for each official of the crew, however many plays there are', () => {
      for (const size of [4, 8] as const) {
        expect(appearance(size, []).map((row) => row.opportunities)).toEqual(new Array(size).fill(1));
      }
      expect(appearance(8, [], [])).toEqual([]);
    });

    it('take a mark on any play once, the graver one', () => {
      const mark = { position: 'umpire', dutyKey: 'appearance' } as const;
      const rows = appearance(8, [
        { ...mark, playId: 'p1', finding: 'missed' },
        { ...mark, playId: 'p2', finding: 'model' },
        { ...mark, playId: 'p2', finding: 'missed' },
      ]);
      expect(rows.find((row) => row.position === 'umpire')).toMatchObject({
        opportunities: 1,
        notMet: 1,
        model: 0,
      });
    });

    it('are owed when the position was watched on a play at least', () => {
      const seen = watchedOn(
        { positions: [], stretches: [{ from: 'p2', to: 'p2', positions: ['umpire'] }] },
        ['p1', 'p2'],
      );
      const { counts, standings } = countOpportunities(
        log,
        fullCrew(8),
        rubric,
        (['umpire', 'referee'] as const).map((position) => ({
          ...{ playId: 'p1', position, dutyKey: 'appearance', finding: 'missed' },
        })),
        { watchedOn: seen, decidedShareLeast: 0.8 },
      );
      const row = (position: string) =>
        counts.find((one) => one.dutyKey === 'appearance' && one.position === position);
      expect(row('umpire')).toMatchObject({ opportunities: 1, notMet: 1, unwatched: 0 });
      expect(row('referee')).toMatchObject({ opportunities: 0, notMet: 0, unwatched: 1 });
      expect(standings).toEqual(['counted', 'not watched']);
    });

    it('take no mark on a play that is not in the log, and say so', () => {
      const { stray } = countOpportunities(
        log,
        fullCrew(8),
        rubric,
        [{ playId: 'p9', position: 'umpire', dutyKey: 'appearance', finding: 'missed' }],
        everything,
      );
      expect(stray.map(({ reason }) => reason)).toEqual(['the play is not in the play log']);
    });
  });

  it('add up to the chances of the plays, counted, set aside or not watched', () => {
    fc.assert(
      fc.property(anyLog, anyCrew, anyMarks, anyWatched, anyShare, (log, crew, marks, watched, least) => {
        const seen = watchedOn(
          watched,
          log.map(({ id }) => id),
        );
        const { counts } = countOpportunities(log, crew, rubric, marks, {
          watchedOn: seen,
          decidedShareLeast: least,
        });
        const found = counts.reduce((sum, row) => sum + row.opportunities + row.setAside + row.unwatched, 0);
        const given = log.flatMap(({ play }) => opportunitiesOf(play, crew, rubric)).length;
        const ofTheGame = log.length === 0 ? 0 : gameDuties.size * crew.present.length;
        expect(found).toBe(given + ofTheGame);
        for (const row of counts) {
          expect(row.notMet + row.notCounted + row.model).toBeLessThanOrEqual(row.opportunities);
          const judged = Object.values(row.costs).reduce((sum, count) => sum + count, 0);
          expect(judged).toBeLessThanOrEqual(row.notMet);
          expect(row.likely).toBeLessThanOrEqual(row.undecided);
          if (decidedShare(row) < least) expect(row.opportunities + row.notMet).toBe(0);
          else expect(row.setAside).toBe(0);
        }
      }),
    );
  });

  it('lose no observation and count none twice, in whatever order they come', () => {
    fc.assert(
      fc.property(anyLog, anyCrew, anyMarks, anyWatched, anyShare, (log, crew, marks, watched, least) => {
        const counting = {
          watchedOn: watchedOn(
            watched,
            log.map(({ id }) => id),
          ),
          decidedShareLeast: least,
        };
        const result = countOpportunities(log, crew, rubric, marks, counting);
        expect(countOpportunities(log, crew, rubric, [...marks].reverse(), counting).counts).toEqual(
          result.counts,
        );
        expect(result.standings.filter((one) => one === undefined)).toHaveLength(result.stray.length);
        const cells = new Set(
          marks
            .filter(
              ({ finding }, at) => effectOf(finding) === 'not met' && result.standings[at] === 'counted',
            )
            .map(
              (mark) =>
                `${gameDuties.has(mark.dutyKey) ? 'game' : mark.playId} ${mark.position} ${mark.dutyKey}`,
            ),
        );
        expect(result.counts.reduce((sum, row) => sum + row.notMet, 0)).toBe(cells.size);
      }),
    );
  });

  const settling = facts.filter(
    (fact) => !overrulingFacts.includes(fact) && fact !== 'kind' && fact !== 'spot',
  );

  it('never grow when facts are dropped: no chance is found, no miss counted that the full log had not', () => {
    fc.assert(
      fc.property(
        fc.array(anyCompletePlay, { minLength: 1, maxLength: 6 }),
        anyCrew,
        fc.array(fc.array(fc.constantFrom(...settling), { maxLength: 12 }), { minLength: 6, maxLength: 6 }),
        anyMarks,
        anyShare,
        (plays, crew, dropped, marks, least) => {
          const full = plays.map((play, n) => ({ id: `p${n}`, play }));
          const thin = full.map(({ id, play }, n) => ({ id, play: without(play, dropped[n]!) }));
          const of = (log: readonly LoggedPlay[]) =>
            new Map(
              countOpportunities(log, crew, rubric, marks, { decidedShareLeast: least }).counts.map((row) => [
                `${row.position} ${row.dutyKey}`,
                row,
              ]),
            );
          const before = of(full);
          for (const [key, row] of of(thin)) {
            const had = before.get(key);
            expect(row.opportunities).toBeLessThanOrEqual(had?.opportunities ?? 0);
            expect(row.notMet).toBeLessThanOrEqual(had?.notMet ?? 0);
          }
        },
      ),
    );
  });
});

function without(play: Play, dropped: readonly Fact[]): Play {
  return Object.fromEntries(
    Object.entries(play).filter(([fact]) => !dropped.includes(fact as Fact)),
  ) as unknown as Play;
}
