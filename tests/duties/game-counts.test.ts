import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { countedChances } from '../../server/duties/counted-chances.ts';
import type { Finding } from '../../server/duties/finding.ts';
import { countGame } from '../../server/duties/game-counts.ts';
import type { MarkedFinding } from '../../server/duties/marks-of-cells.ts';
import { compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { countOpportunities } from '../../server/duties/opportunity-counts.ts';
import { samplesOfGame } from '../../server/duties/two-samples-of-game.ts';
import type { WatchedOn } from '../../server/duties/watched.ts';
import { everybodysDuty, freeKickCall } from '../reports/one-game.ts';

const call = { ...everybodysDuty, key: 'call', gradedAs: 'call' as const };
const wholeGame = { ...everybodysDuty, key: 'appearance', per: 'game' as const, allOf: [] };
const rubric = compileRubric([everybodysDuty, call, wholeGame, freeKickCall]);
const crew = fullCrew(7);
const plays = ['p1', 'p2', 'p3'].map((id) => ({
  id,
  play: { kind: 'run', spot: 40, down: 1, distance: 10 } as const,
}));

const mark = (playId: string, finding: Finding, dutyKey = everybodysDuty.key): MarkedFinding => ({
  playId,
  position: 'umpire',
  dutyKey,
  finding,
});
const chances = (marks: readonly MarkedFinding[], watchedOn?: WatchedOn) =>
  countedChances(plays, crew, { rubric, marks, watchedOn, decidedShareLeast: 0.8 });
const umpire = (reports: Parameters<typeof countGame>[0], dutyKey = everybodysDuty.key) =>
  countGame(reports).find((row) => row.position === 'umpire' && row.dutyKey === dutyKey);

describe('two observers of a game', () => {
  it('count a play and duty once, and a miss that both marked once', () => {
    const both = [chances([mark('p1', 'missed')]), chances([mark('p1', 'missed')])];
    expect(umpire(both)).toMatchObject({ opportunities: 3, notMet: 1, notCounted: 0, differed: 0 });
  });

  it('silence gives way to what is said, be it missed, model or not seen', () => {
    const said = [chances([mark('p1', 'missed'), mark('p2', 'not seen'), mark('p3', 'model')]), chances([])];
    const expected = { opportunities: 3, notMet: 1, notCounted: 1, model: 1, differed: 0 };
    expect(umpire(said)).toMatchObject(expected);
    expect(umpire(said.toReversed())).toMatchObject(expected);
  });

  it('who saw goes before who did not', () => {
    expect(umpire([chances([mark('p1', 'not seen')]), chances([mark('p1', 'missed')])])).toMatchObject({
      notMet: 1,
      notCounted: 0,
    });
    expect(umpire([chances([mark('p1', 'not seen')]), chances([mark('p1', 'done')])])).toMatchObject({
      notMet: 0,
      notCounted: 0,
    });
  });

  it('judged differently counts neither way, and is kept', () => {
    const differ = [chances([mark('p1', 'missed')]), chances([mark('p1', 'done')])];
    expect(umpire(differ)).toMatchObject({ opportunities: 3, notMet: 0, notCounted: 1, differed: 1 });
    // A third who agrees with one of them does not outvote the other.
    expect(umpire([...differ, chances([mark('p1', 'missed')])])).toMatchObject({ notMet: 0, differed: 1 });
  });

  it('of two consequences the dearer, and a judged one before one not judged', () => {
    const wrong = (consequence: 'none' | 'score' | null) =>
      chances([{ ...mark('p1', 'wrong call', 'call'), consequence }]);
    expect(umpire([wrong('none'), wrong('score')], 'call')).toMatchObject({
      notMet: 1,
      costs: { none: 0, yards: 0, possession: 0, score: 1 },
    });
    expect(umpire([wrong(null), wrong('none')], 'call')!.costs.none).toBe(1);
  });

  it('a duty of the whole game is one chance, whatever plays it was marked on', () => {
    const both = [
      chances([mark('p1', 'missed', 'appearance')]),
      chances([mark('p3', 'missed', 'appearance')]),
    ];
    expect(umpire(both, 'appearance')).toMatchObject({ opportunities: 1, notMet: 1 });
  });

  it('what only one watched counts by that one', () => {
    const late: WatchedOn = (playId) => playId === 'p3';
    const reports = [
      chances([mark('p1', 'missed')], (playId) => playId !== 'p3'),
      chances([mark('p1', 'done'), mark('p3', 'missed')], late),
    ];
    // The second did not watch play 1, so what they marked there is no disagreement.
    expect(umpire(reports)).toMatchObject({ opportunities: 3, notMet: 2, differed: 0 });
    const neither = [chances([], (playId) => playId === 'p1'), chances([], (playId) => playId === 'p1')];
    expect(umpire(neither)).toMatchObject({ opportunities: 1 });
  });

  it('are two samples only of what both watched', () => {
    const counted = (marks: readonly MarkedFinding[], watchedOn?: WatchedOn) => ({
      rubric,
      marks,
      watchedOn,
      decidedShareLeast: 0.8,
    });
    const missed = [mark('p1', 'missed'), mark('p2', 'missed'), mark('p3', 'missed')];
    expect(
      samplesOfGame(plays, crew, [
        counted(missed),
        counted([mark('p2', 'missed')], (playId) => playId !== 'p1'),
      ]),
    ).toEqual({ both: 1, onlyFirst: 1, onlySecond: 0, firstAgainst: 0, secondAgainst: 0 });
  });
});

const anyMark = fc.record({
  playId: fc.constantFrom('p1', 'p2', 'p3'),
  position: fc.constantFrom('umpire' as const, 'referee' as const),
  dutyKey: fc.constantFrom(everybodysDuty.key, 'appearance'),
  finding: fc.constantFrom<Finding>('missed', 'done', 'model', 'not seen'),
});

it('of one report are what the report counts', () => {
  fc.assert(
    fc.property(fc.array(anyMark, { maxLength: 12 }), fc.nat(7), (marks, seen) => {
      const watchedOn: WatchedOn = (playId) => (seen & (1 << (Number(playId[1]) - 1))) !== 0;
      const { counts } = countOpportunities(plays, crew, rubric, marks, {
        watchedOn,
        decidedShareLeast: 0.8,
      });
      const inOrder = (rows: readonly { position: string; dutyKey: string }[]) =>
        rows.toSorted((a, b) => `${a.position}${a.dutyKey}`.localeCompare(`${b.position}${b.dutyKey}`));
      const figures = ({
        position,
        dutyKey,
        opportunities,
        notMet,
        notCounted,
        model,
      }: (typeof counts)[number]) => ({ position, dutyKey, opportunities, notMet, notCounted, model });
      expect(
        inOrder(countGame([chances(marks, watchedOn)]).map(({ costs, differed, ...row }) => row)),
      ).toEqual(inOrder(counts.filter(({ opportunities }) => opportunities > 0).map(figures)));
    }),
  );
});

it('never count more than all reports hold, nor less than the fuller one', () => {
  fc.assert(
    fc.property(fc.array(anyMark), fc.array(anyMark), (first, second) => {
      const reports = [chances(first), chances(second)];
      const sum = (rows: ReturnType<typeof countGame>, of: 'opportunities' | 'notMet') =>
        rows.reduce((all, row) => all + row[of], 0);
      const [one, other] = reports.map((report) => countGame([report]));
      const game = countGame(reports);
      expect(sum(game, 'opportunities')).toBe(sum(one!, 'opportunities'));
      expect(sum(game, 'notMet')).toBeLessThanOrEqual(sum(one!, 'notMet') + sum(other!, 'notMet'));
      for (const row of game) expect(row.differed).toBeLessThanOrEqual(row.notCounted);
      const again = (rows: ReturnType<typeof countGame>) => rows.map((row) => JSON.stringify(row)).sort();
      expect(again(countGame(reports.toReversed()))).toEqual(again(game));
    }),
  );
});
