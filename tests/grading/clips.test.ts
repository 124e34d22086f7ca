// @module-tag long
import { describe, expect, test } from 'vitest';
import { Draws } from '../../seed-demo/draws.ts';
import { type ClipMark, fewestInCommon, marksApart, tellingMarks } from '../../server/grading/clip-marks.ts';
import { comparableGroups } from '../../server/grading/connectedness.ts';
import { fitSeasonByCounts } from '../../server/grading/count-model/season-by-counts.ts';
import { otherWaysToRank } from '../../server/grading/other-ways.ts';
import { fitLinearSeason, type SeasonStandings } from '../../server/grading/season-model.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';
import { drawClips, plainClips } from '../bench/seasons/clips.ts';
import { settingsOf } from '../bench/seasons/measures.ts';
import { drawSeason } from '../bench/seasons/season.ts';
import { demoLike } from '../bench/seasons/shape.ts';

const fits = { linear: fitLinearSeason, counts: fitSeasonByCounts };
type Way = keyof typeof fits;
const ways = Object.keys(fits) as Way[];
const settings = { ...settingsOf(1), draws: 200 };

/** A mark of a thing asked, by name of the observer: missed where given in capitals. */
const unit = (set: string, item: string, ...given: string[]): ClipMark[] =>
  given.map((name) => ({
    ...{ set, clip: 1, item, position: 'umpire' },
    observer: name.toLowerCase(),
    missed: name === name.toUpperCase(),
  }));
const reporting = new Set(['ash', 'birch', 'cedar']);

describe('which marks tell anything', () => {
  test('what one alone could judge does not, nor a set in which all marks are alike', () => {
    const split = unit('august', 'one', 'ASH', 'birch', 'cedar');
    const alone = unit('august', 'two', 'ASH');
    const alike = [...unit('may', 'one', 'ash', 'birch'), ...unit('may', 'two', 'ash', 'birch')];
    const { marks, taken } = tellingMarks(
      [...split, ...alone, ...alike, ...unit('august', 'three', 'ELM', 'ash')],
      reporting,
    );
    expect(marks).toEqual([...split, ...unit('august', 'three', 'ELM', 'ash')]);
    expect(taken).toEqual({ observers: 4, withoutReport: 1, clips: 1, marks: 5, joined: 0, reason: null });
  });

  test.each([
    ['none handed in', [], reporting, /no closed set/],
    ['one observer marked', unit('august', 'one', 'ASH'), reporting, /in different ways/],
    [
      'all judged everything alike',
      [...unit('august', 'one', 'ASH', 'BIRCH'), ...unit('august', 'two', 'ash', 'birch')],
      reporting,
      /in different ways/,
    ],
    [
      'one observer reported',
      unit('august', 'one', 'ASH', 'birch'),
      new Set(['ash']),
      /fewer than two observers reported/,
    ],
    ['others reported', unit('august', 'one', 'ELM', 'fir'), reporting, /nobody who marked clips reported/],
  ])('nothing is taken in where %s, and it says why', (_, marks, observers, why) => {
    const found = tellingMarks(marks as ClipMark[], observers as Set<string>);
    expect(found.marks).toEqual([]);
    expect(found.taken.reason).toMatch(why as RegExp);
  });

  test('how far marks of one thing differ is their sample variance, mark by mark', () => {
    // Of 1, 0, 0 the sample variance is 1/3, of 1, 1, 0, 0 it is 1/3, of 0, 0 it is 0.
    const marks = [
      ...unit('a', 'one', 'ASH', 'birch', 'cedar'),
      ...unit('a', 'two', 'ASH', 'BIRCH', 'cedar', 'elm'),
      ...unit('a', 'three', 'ash', 'birch'),
    ];
    expect(marksApart(marks)).toBeCloseTo((3 / 3 + 4 / 3 + 0) / 9, 12);
  });
});

describe('who can be compared by clips', () => {
  const meetings = [
    { official: 'Reed', observer: 'ash' },
    { official: 'Sedge', observer: 'birch' },
  ];
  const common = (count: number, ...names: string[]) =>
    Array.from({ length: count }, (_, at) => unit('august', `thing ${at}`, ...names)).flat();

  test('observers who judged enough of the same are linked, and with them those they graded', () => {
    expect(comparableGroups(meetings, common(fewestInCommon - 1, 'ash', 'BIRCH'))).toHaveLength(2);
    expect(comparableGroups(meetings, common(fewestInCommon, 'ash', 'BIRCH'))).toEqual([
      { officials: ['Reed', 'Sedge'], observers: ['ash', 'birch'] },
    ]);
  });

  test('by way of one who reported on nothing, who is then in no group; different clips link nobody', () => {
    const first = common(fewestInCommon, 'ash', 'ELM');
    const others = common(fewestInCommon, 'birch', 'ELM').map((mark) => ({ ...mark, set: 'may' }));
    expect(comparableGroups(meetings, [...first, ...others])).toEqual([
      { officials: ['Reed', 'Sedge'], observers: ['ash', 'birch'] },
    ]);
    const apart = common(fewestInCommon, 'birch', 'FIR').map((mark) => ({ ...mark, set: 'may' }));
    expect(comparableGroups(meetings, [...first, ...apart])).toHaveLength(2);
    expect(comparableGroups(meetings, common(fewestInCommon, 'elm', 'FIR'))).toHaveLength(2);
  });
});

describe.each(ways)('%s', (way) => {
  const small = { ...demoLike, crews: 3, weeks: 6, gamesPerWeek: 2, observers: 5, clips: plainClips };
  const { reports, games, clips } = drawSeason(small, 5);
  const standingsOf = (marks: readonly ClipMark[] | null, of: readonly GradedGame[] = reports) =>
    fits[way](of, settings, marks).standings(of === reports ? games : of);
  const withoutClips = standingsOf(null);
  const gradesOf = ({ standings }: SeasonStandings) => standings.map(({ adjusted }) => adjusted!.grade);

  test('who is on a clip moves nobody’s grade: marked of other plays, by the same observers alike, all is the same', () => {
    const found = standingsOf(clips);
    expect(found.clips).toMatchObject({ observers: 5, clips: 20, marks: clips.length, reason: null });
    // The marks name no official at all; only which clip is marked how, in which set, could tell one from another.
    const renamed = clips.map((mark) => ({ ...mark, clip: 1000 - mark.clip, set: 'other plays' }));
    const again = standingsOf(renamed);
    for (const [at, grade] of gradesOf(found).entries()) expect(gradesOf(again)[at]).toBeCloseTo(grade, 8);
    const marked = ({ standings }: SeasonStandings) =>
      Object.fromEntries(standings.map(({ official, season }) => [official, season.pooled.grade]));
    expect(marked(found)).toEqual(marked(withoutClips));
  });

  test('a set that all but a few find harder moves no severity: each set has a shift of its own', () => {
    const harder = drawClips(
      { ...plainClips, clips: 60 },
      { observers: 5, severity: () => 3, keenness: () => 1 },
      new Draws(1, 'harder'),
    ).map((mark) => ({ ...mark, set: 'harder' }));
    const found = standingsOf([...clips, ...harder]);
    const grades = gradesOf(found);
    // Their mean stays where it is; by the observers' own levels, a set of misses cannot lower anybody.
    const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
    expect(Math.abs(mean(grades) - mean(gradesOf(standingsOf(clips))))).toBeLessThan(0.02);
  });

  test('one who marks more missed on clips than before is taken for stricter, and the others for milder beside them', () => {
    const observers = withoutClips.observers.map(({ observer }) => observer);
    const one = observers[2]!;
    const stricter = clips.map((mark) =>
      mark.observer === one && mark.clip % 3 === 0 ? { ...mark, missed: true } : mark,
    );
    const [before, after] = [clips, stricter].map(
      (marks) => new Map(standingsOf(marks).observers.map(({ observer, effect }) => [observer, effect!])),
    );
    const moved = new Map(observers.map((name) => [name, after!.get(name)! - before!.get(name)!]));
    expect(moved.get(one)).toBeLessThan(0);
    const others = observers.filter((name) => name !== one).map((name) => moved.get(name)!);
    expect(others.reduce((sum, value) => sum + value, 0)).toBeGreaterThan(0);
    for (const value of others) expect(Math.abs(value)).toBeLessThan(-moved.get(one)!);
  });

  test.each([
    ['none', []],
    ['of one observer', clips.filter(({ observer }) => observer === clips[0]!.observer)],
    ['all alike', clips.map((mark) => ({ ...mark, missed: mark.clip % 2 === 0 }))],
    ['all missed', clips.map((mark) => ({ ...mark, missed: true }))],
    ['of strangers', clips.map((mark) => ({ ...mark, observer: `stranger ${mark.observer}` }))],
  ])('marks that tell nothing (%s) leave all as it is, and it is said', (_, marks) => {
    const found = standingsOf(marks);
    expect(found.clips!.reason).not.toBeNull();
    expect({ ...found, clips: null }).toEqual(withoutClips);
  });

  test.each([
    ['one thing that split two', clips.slice(0, 2).map((mark, at) => ({ ...mark, missed: at === 0 }))],
    ['one clip', clips.filter(({ clip }) => clip === 1)],
    [
      'clips that are all as hard',
      clips.map((mark) => ({ ...mark, missed: (mark.clip + Number(mark.observer.at(-1))) % 5 < 2 })),
    ],
    [
      'one who alone marks the other way',
      clips.map((mark) => ({ ...mark, missed: mark.observer !== clips[0]!.observer })),
    ],
    [
      'some who reported on nothing',
      [
        ...clips,
        ...clips.map((mark) => ({
          ...mark,
          observer: `other ${mark.observer}`,
          missed: mark.clip % 3 === 0,
        })),
      ],
    ],
  ])('little (%s) is taken in without harm', (_, marks) => {
    const found = standingsOf(marks);
    for (const { adjusted } of found.standings) {
      expect(Number.isFinite(adjusted!.grade)).toBe(true);
      expect(adjusted!.standardError).toBeGreaterThan(0);
    }
    for (const { effect, standardError } of found.observers) {
      expect(Number.isFinite(effect)).toBe(true);
      expect(Number.isFinite(standardError)).toBe(true);
    }
    expect(found.observers.map(({ observer }) => observer).toSorted()).toEqual(
      withoutClips.observers.map(({ observer }) => observer).toSorted(),
    );
    for (const note of found.notes) expect(note).not.toMatch(/^(clip|observer on film|clips )/);
  });

  test('seasons of hardly any report hold with clips too', () => {
    const one = reports.slice(0, 1);
    expect(standingsOf(clips, one).standings).toHaveLength(1);
    expect(standingsOf(clips, []).standings).toEqual([]);
    const observers = new Set(reports.slice(0, 30).map(({ observer }) => observer));
    expect(observers.size).toBeGreaterThan(1);
    expect(standingsOf(clips, reports.slice(0, 30)).standings.length).toBeGreaterThan(0);
  });

  test('other ways to look at ranks take them in, but where all are taken for equally strict', () => {
    const { ways: found } = otherWaysToRank(reports, settings, games, way, clips);
    expect(
      found.map((one) => [one.way, one.standings?.clips?.reason ?? (one.standings?.clips ? 'taken' : null)]),
    ).toEqual([
      ['linear', 'taken'],
      ['counts', 'taken'],
      ['without the strictest', 'taken'],
      ['equally strict', null],
    ]);
  });
});
