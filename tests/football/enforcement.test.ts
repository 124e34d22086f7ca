import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Code, codes } from '../../server/football/codes.ts';
import { contradictionsIn } from '../../server/football/contradictions/index.ts';
import type { Foul } from '../../server/football/fouls.ts';
import { mendOf } from '../../server/football/mend.ts';
import { nextPlay } from '../../server/football/next-play.ts';
import { stepped } from '../../server/football/penalties.ts';
import { type Play, playSchema } from '../../server/football/play.ts';
import { proposals } from '../../server/football/proposals.ts';
import { readWords } from '../../server/football/said/index.ts';
import { usualFouls } from '../../server/football/usual-fouls.ts';
import { anyPlay } from '../support/arbitrary-football.ts';
import { script } from './said/script.ts';

const at = (spot: number, down: number, distance: number): Play => ({
  kind: 'run',
  spot,
  down,
  distance,
  offense: 'home',
  quarter: 1,
  clockAbout: 600,
});
const foul = (name: string, by: Foul['by'], more: Partial<Foul> = {}): Pick<Play, 'fouls'> => ({
  fouls: [{ foul: name, by, outcome: 'accepted', ...more }],
});
const run: Play = { ...at(40, 2, 7), endSpot: 45 };
const pass: Play = { ...at(40, 2, 7), kind: 'pass', passResult: 'incomplete', catchDepth: 20 };

/** Down, distance and spot, all that an enforcement decides; the team only where the ball changes hands. */
type Start = readonly [down: number | undefined, distance: number | undefined, spot: number, by?: 'visitor'];

describe('the next play after fouls', () => {
  // By the rules books named in citations.ts, NCAA 9, 10-2 and NFHS 9, 10-4, from memory: check the current edition.
  it.each<[string, Play, Code, Start]>([
    [
      'holding, ten yards and the down again',
      { ...run, ...foul('holding', 'offense') },
      'college',
      [2, 17, 30],
    ],
    [
      'holding downfield, from where it was',
      { ...run, endSpot: 60, ...foul('holding', 'offense', { spot: 52 }) },
      'college',
      [2, 5, 42],
    ],
    [
      'holding behind the run, high school',
      { ...run, ...foul('holding', 'offense', { spot: 38 }) },
      'high school',
      [2, 19, 28],
    ],
    [
      'holding on a run nobody says where, high school',
      { ...run, ...foul('holding', 'offense') },
      'high school',
      [undefined, undefined, 40],
    ],
    [
      'holding on a pass, high school',
      { ...pass, ...foul('holding', 'offense') },
      'high school',
      [2, 17, 30],
    ],
    [
      'half the distance',
      { ...at(8, 1, 10), endSpot: 12, ...foul('holding', 'offense') },
      'college',
      [1, 14, 4],
    ],
    [
      'holding wipes out a touchdown',
      { ...at(90, 3, 8), endSpot: 100, score: 'touchdown', ...foul('holding', 'offense') },
      'college',
      [3, 18, 80],
    ],
    ['offside is five and the down again', { ...run, ...foul('offside', 'defense') }, 'college', [2, 2, 45]],
    [
      'offside that reaches the line',
      { ...at(40, 2, 4), endSpot: 40, ...foul('offside', 'defense') },
      'college',
      [1, 10, 45],
    ],
    [
      'false start',
      { ...at(40, 2, 7), kind: 'no snap', ...foul('false start', 'offense') },
      'college',
      [2, 12, 35],
    ],
    [
      'false start on a first down, which stays the same series',
      { ...at(40, 1, 10), kind: 'no snap', ...foul('false start', 'offense') },
      'college',
      [1, 15, 35],
    ],
    [
      'declined',
      { ...run, fouls: [{ foul: 'holding', by: 'offense', outcome: 'declined' }] },
      'college',
      [3, 2, 45],
    ],
    [
      'picked up',
      { ...run, fouls: [{ foul: 'holding', by: 'offense', outcome: 'picked up' }] },
      'college',
      [3, 2, 45],
    ],
    [
      'offsetting',
      {
        ...run,
        fouls: [
          { foul: 'holding', by: 'offense', outcome: 'offsetting' },
          { foul: 'offside', by: 'defense', outcome: 'offsetting' },
        ],
      },
      'college',
      [2, 7, 40],
    ],
    [
      'interference no more than fifteen, college',
      { ...pass, ...foul('defensive pass interference', 'defense') },
      'college',
      [1, 10, 55],
    ],
    [
      'interference at its spot when nearer, college',
      { ...pass, catchDepth: 9, ...foul('defensive pass interference', 'defense') },
      'college',
      [1, 10, 49],
    ],
    [
      'interference in the end zone',
      { ...pass, spot: 88, distance: 10, catchDepth: 14, ...foul('defensive pass interference', 'defense') },
      'college',
      [1, 2, 98],
    ],
    [
      'interference nobody says where',
      { ...pass, catchDepth: undefined, ...foul('defensive pass interference', 'defense') },
      'college',
      [undefined, undefined, 40],
    ],
    [
      'interference, high school',
      { ...pass, distance: 20, ...foul('defensive pass interference', 'defense') },
      'high school',
      [2, 5, 55],
    ],
    [
      'defensive holding, a new series in college',
      { ...pass, distance: 20, ...foul('defensive holding', 'defense') },
      'college',
      [1, 10, 50],
    ],
    [
      'and none in high school',
      { ...pass, distance: 20, ...foul('defensive holding', 'defense') },
      'high school',
      [2, 10, 50],
    ],
    ['face mask is added to the run', { ...run, ...foul('facemask', 'defense') }, 'college', [1, 10, 60]],
    [
      'roughing the passer after an incomplete pass',
      { ...pass, ...foul('roughing the passer', 'defense') },
      'high school',
      [1, 10, 55],
    ],
    [
      'grounding takes the down and its spot has to be said',
      { ...pass, ...foul('intentional grounding', 'offense') },
      'college',
      [undefined, undefined, 40],
    ],
    [
      'grounding from its spot',
      { ...pass, ...foul('intentional grounding', 'offense', { spot: 33 }) },
      'college',
      [3, 14, 33],
    ],
    [
      'grounding on fourth down',
      { ...pass, down: 4, ...foul('intentional grounding', 'offense', { spot: 33 }) },
      'college',
      [1, 10, 67, 'visitor'],
    ],
    [
      'a late hit by the defense after the play',
      { ...run, ...foul('late hit', 'defense') },
      'college',
      [1, 10, 60],
    ],
    [
      'the same in high school',
      { ...run, distance: 30, ...foul('late hit', 'defense') },
      'high school',
      [3, 10, 60],
    ],
    [
      'a late hit by the offense after a first down',
      { ...run, endSpot: 50, ...foul('late hit', 'offense') },
      'college',
      [1, 10, 35],
    ],
    [
      'a late hit by the offense short of it',
      { ...run, ...foul('late hit', 'offense') },
      'college',
      [3, 17, 30],
    ],
    [
      'roughing the kicker',
      {
        ...at(40, 4, 12),
        kind: 'punt',
        kickResult: 'fair catch',
        endSpot: 80,
        ...foul('roughing the kicker', 'defense'),
      },
      'college',
      [1, 10, 55],
    ],
    [
      'running into the kicker',
      {
        ...at(40, 4, 12),
        kind: 'punt',
        kickResult: 'fair catch',
        endSpot: 80,
        ...foul('running into the kicker', 'defense'),
      },
      'college',
      [4, 7, 45],
    ],
    [
      'a block in the back on a return',
      {
        ...at(40, 4, 12),
        kind: 'punt',
        kickResult: 'returned',
        kickTo: 85,
        endSpot: 70,
        ...foul('block in the back', 'defense', { spot: 75 }),
      },
      'college',
      [1, 10, 15, 'visitor'],
    ],
    [
      'interference with the catch',
      {
        ...at(40, 4, 12),
        kind: 'punt',
        kickResult: 'fair catch',
        kickTo: 80,
        endSpot: 80,
        ...foul('kick-catch interference', 'offense'),
      },
      'college',
      [1, 10, 35, 'visitor'],
    ],
    [
      'a kickoff out of bounds',
      {
        kind: 'free kick',
        spot: 35,
        offense: 'home',
        kickResult: 'out of bounds',
        ...foul('free kick out of bounds', 'offense'),
      },
      'college',
      [1, 10, 35, 'visitor'],
    ],
    [
      'a kickoff out of bounds, high school',
      {
        kind: 'free kick',
        spot: 40,
        offense: 'home',
        kickResult: 'out of bounds',
        ...foul('free kick out of bounds', 'offense'),
      },
      'high school',
      [1, 10, 35, 'visitor'],
    ],
    [
      'a foul whose outcome nobody logged',
      { ...run, fouls: [{ foul: 'holding', by: 'offense' }] },
      'college',
      [undefined, undefined, 40],
    ],
    [
      'a foul that is not in the list',
      { ...run, ...foul('leaping', 'defense') },
      'college',
      [undefined, undefined, 40],
    ],
    [
      'two accepted at once',
      {
        ...run,
        fouls: [...foul('holding', 'offense').fouls!, ...foul('illegal formation', 'offense').fouls!],
      },
      'college',
      [undefined, undefined, 40],
    ],
    [
      'one live and one after the play',
      {
        ...run,
        fouls: [...foul('holding', 'offense').fouls!, ...foul('unsportsmanlike conduct', 'defense').fouls!],
      },
      'college',
      [1, 10, 45],
    ],
    [
      'holding and a late hit by the same team in one series, which goes on',
      {
        ...at(40, 1, 10),
        endSpot: 45,
        fouls: [...foul('holding', 'offense').fouls!, ...foul('late hit', 'offense').fouls!],
      },
      'college',
      [1, 35, 15],
    ],
    [
      'late hits by both after the play do not undo it',
      {
        ...run,
        fouls: [
          { foul: 'late hit', by: 'offense', outcome: 'offsetting' },
          { foul: 'late hit', by: 'defense', outcome: 'offsetting' },
        ],
      },
      'college',
      [3, 2, 45],
    ],
    [
      'roughing the holder on a kick that missed',
      {
        ...at(75, 4, 7),
        kind: 'place kick',
        kickResult: 'no good',
        score: 'none',
        ...foul('roughing the holder', 'defense'),
      },
      'college',
      [1, 10, 87],
    ],
    [
      'holding by the offense on a pass that was intercepted, though nobody logged the turnover',
      { ...pass, passResult: 'intercepted', endSpot: 60, ...foul('holding', 'offense') },
      'college',
      [undefined, undefined, 40, 'visitor'],
    ],
    [
      'holding by the defense before an interception was carried back for a touchdown',
      {
        ...pass,
        ...{ passResult: 'intercepted', turnover: 'interception', endSpot: 0, score: 'touchdown' },
        ...foul('defensive holding', 'defense'),
      },
      'college',
      [1, 10, 50],
    ],
  ])('%s', (_what, last, code, [onDown, distance, spot, by = 'home']) => {
    const next = nextPlay(playSchema.parse(last), code);
    expect([next.down, next.distance, next.spot, next.offense]).toEqual([onDown, distance, spot, by]);
  });

  const touchdown: Play = { ...run, endSpot: 100, score: 'touchdown' };
  const aTry: Play = { kind: 'try', spot: 97, offense: 'home', tryBy: 'kick' };
  // NCAA 8-3, 8-5-1, 10-2-5 and NFHS 8-3, 8-5-2, 10-5, from memory: check the current edition.
  it.each<[string, Play, Code, Pick<Play, 'kind' | 'spot'>]>([
    ['late hit after a touchdown', { ...touchdown, ...foul('late hit', 'defense') }, 'college', aTry],
    [
      'unsportsmanlike after a touchdown',
      { ...touchdown, ...foul('unsportsmanlike conduct', 'offense') },
      'high school',
      aTry,
    ],
    [
      'a foul after a touchdown of which nobody logged what became',
      { ...touchdown, fouls: [{ foul: 'late hit', by: 'defense' }] },
      'college',
      aTry,
    ],
    [
      'a foul that may have undone a touchdown',
      { ...touchdown, fouls: [{ foul: 'holding', by: 'offense' }] },
      'college',
      { kind: 'run', spot: 40 },
    ],
    [
      'unsportsmanlike after a field goal',
      {
        ...at(75, 4, 7),
        ...{ kind: 'place kick', score: 'field goal' },
        ...foul('unsportsmanlike conduct', 'defense'),
      },
      'college',
      { kind: 'free kick', spot: 50 },
    ],
    [
      'the same by the team that kicks off',
      { ...aTry, score: 'try good', ...foul('unsportsmanlike conduct', 'offense') },
      'high school',
      { kind: 'free kick', spot: 25 },
    ],
    [
      'holding on a try that was good',
      { ...aTry, score: 'try good', ...foul('holding', 'offense') },
      'college',
      { kind: 'try', spot: 87 },
    ],
    [
      'offside on a try that failed, half the distance',
      { ...aTry, score: 'none', ...foul('offside', 'defense') },
      'college',
      { kind: 'try', spot: 98 },
    ],
    [
      'offside on a try that was good',
      { ...aTry, score: 'try good', ...foul('offside', 'defense') },
      'college',
      { kind: 'free kick', spot: 35 },
    ],
    [
      'a false start before a try',
      { kind: 'no snap', spot: 97, offense: 'home', ...foul('false start', 'offense') },
      'college',
      { kind: 'try', spot: 92 },
    ],
    [
      'holding in the own end zone is a safety',
      { ...at(3, 2, 7), endSpot: 6, ...foul('holding', 'offense', { spot: 0 }) },
      'college',
      { kind: 'free kick', spot: 20 },
    ],
    [
      'and so is grounding there',
      { ...pass, spot: 3, throwDepth: -5, ...foul('intentional grounding', 'offense') },
      'high school',
      { kind: 'free kick', spot: 20 },
    ],
  ])('after a score or for one: %s', (_what, last, code, { kind, spot }) => {
    const next = nextPlay(playSchema.parse(last), code);
    expect([next.kind, next.spot, next.offense]).toEqual([kind, spot, 'home']);
  });

  it('is a play on the field whatever was logged, and no penalty goes more than half the way', () => {
    fc.assert(
      fc.property(anyPlay, fc.constantFrom(...codes), fc.constantFrom(...usualFouls), (play, code, usual) => {
        const next = nextPlay({ ...play, fouls: [{ ...usual, outcome: 'accepted' }] }, code);
        playSchema.parse(next);
        if (next.distance !== undefined)
          expect(next.spot + next.distance).toBeLessThanOrEqual(Math.max(100, next.spot + 1));
        expect(next.clockSeconds).toBeUndefined();
      }),
    );
    for (let spot = 1; spot < 100; spot++) {
      expect(stepped(spot, -15)).toBeGreaterThanOrEqual(spot / 2);
      expect(100 - stepped(spot, 15)).toBeGreaterThanOrEqual((100 - spot) / 2);
    }
  });

  it('starts each of twenty-five plays where the one before left it', () => {
    const teams = { home: ['LAR'], visitor: ['COP'] };
    script.forEach(({ starts, line }, number) => {
      const following = script[number + 1]?.starts;
      // A yard less than half the way; a drive in between; the end.
      if (following === undefined || [10, 20].includes(number)) return;
      const { play } = readWords(line, starts, { code: 'college', teams, crew: [] });
      const next = nextPlay(play, 'college');
      const { kind, down, distance, spot, offense } = following;
      expect([number + 1, next.kind, next.down, next.distance, next.spot, next.offense]).toEqual([
        number + 1,
        kind,
        down,
        distance,
        spot,
        offense,
      ]);
    });
    const held = script[10]!;
    const { play } = readWords(held.line, held.starts, { code: 'college', teams, crew: [] });
    expect(nextPlay(play, 'college')).toMatchObject({ down: 1, distance: 19, spot: 9 });
  });

  it('contradicts nothing of the play before', () => {
    // Held against the checks of a log, which know no enforcement: where they say how a down must start, it starts so.
    fc.assert(
      fc.property(anyPlay, fc.constantFrom(...codes), (play, code) => {
        const last: Play = { ...play, quarter: 1, clockSeconds: 600 };
        const crew: never[] = [];
        const before = contradictionsIn([{ number: 1, play: last }], crew, code);
        if (before.length > 0) return;
        const next = { ...nextPlay(last, code) };
        expect(
          contradictionsIn(
            [
              { number: 1, play: last },
              { number: 2, play: next },
            ],
            crew,
            code,
          ),
        ).toEqual([]);
      }),
      { numRuns: 3000 },
    );
  });
});

describe('ways to go on', () => {
  const kickoff: Play = { kind: 'free kick', spot: 35, quarter: 1, clockSeconds: 900, offense: 'visitor' };
  const late = (quarter: number, clockAbout: number, more: Partial<Play> = {}): Play => ({
    ...run,
    quarter,
    clockAbout,
    ...more,
  });
  const ways = (...plays: Play[]) => proposals(plays, 'college');

  it('are the next play alone until a quarter is nearly over', () => {
    expect(ways(kickoff, late(1, 300)).map(({ what }) => what)).toEqual(['next play']);
  });

  it('offer either team for the first kickoff', () => {
    expect(
      proposals([], 'college', { home: 'Larkmoor', visitor: 'Coppermesa' }).map(({ says, play }) => [
        says,
        play.offense,
      ]),
    ).toEqual([
      ['Next play', undefined],
      ['Kickoff by Larkmoor', 'home'],
      ['Kickoff by Coppermesa', 'visitor'],
    ]);
  });

  it('offer the next quarter with its clock, the ball where it was', () => {
    const [next, quarter] = ways(kickoff, late(1, 60));
    expect(next!.what).toBe('next play');
    expect(quarter).toMatchObject({
      what: 'next quarter',
      play: { quarter: 2, clockSeconds: 900, down: 3, distance: 2, spot: 45, offense: 'home' },
    });
    expect(quarter!.play.clockAbout).toBeUndefined();
  });

  it('offer the second half with the kickoff of the team that received the first', () => {
    const [, half] = ways(kickoff, late(2, 50));
    expect(half).toEqual({
      what: 'second half',
      says: 'Second half: kickoff by the home team',
      play: { kind: 'free kick', spot: 35, quarter: 3, clockSeconds: 900, offense: 'home' },
    });
    // A try is played whatever the clock says.
    const touchdown = late(2, 3, { endSpot: 100, score: 'touchdown' });
    expect(ways(kickoff, touchdown)[0]!.play.kind).toBe('try');
  });

  it('offer overtime when the score is level', () => {
    const score = late(2, 500, { score: 'field goal', kind: 'place kick', kickResult: 'good' });
    expect(ways(kickoff, late(4, 20)).map(({ what }) => what)).toContain('overtime');
    expect(ways(kickoff, score, late(4, 20)).map(({ what }) => what)).toEqual(['next play']);
    const level = [score, { ...score, offense: 'visitor' as const }];
    expect(ways(kickoff, ...level, late(4, 20)).map(({ what }) => what)).toContain('overtime');
    const first: Play = {
      ...run,
      quarter: 5,
      clockAbout: undefined,
      kind: 'place kick',
      kickResult: 'no good',
      score: 'none',
    };
    expect(ways(kickoff, first).map(({ what }) => what)).toEqual(['next play']);
    expect(ways(kickoff, first, { ...first, offense: 'visitor' }).map(({ what }) => what)).toContain(
      'next overtime period',
    );
  });
});

describe('mending the next play', () => {
  const next: Play = { ...at(45, 3, 2), kind: 'pass' };

  it('offers what now follows, in one piece', () => {
    expect(mendOf(run, { ...run, endSpot: 44 }, next, 'college')).toEqual({ spot: 44, distance: 3 });
    expect(mendOf(run, { ...run, endSpot: 47 }, next, 'college')).toEqual({
      down: 1,
      distance: 10,
      spot: 47,
    });
    expect(mendOf(run, { ...run, turnover: 'fumble' }, next, 'college')).toEqual({
      offense: 'visitor',
      down: 1,
      distance: 10,
      spot: 55,
    });
    expect(mendOf(run, { ...run, endSpot: 100, score: 'touchdown' }, next, 'college')).toMatchObject({
      kind: 'try',
      spot: 97,
    });
    expect(mendOf(run, { ...run, ...foul('holding', 'offense') }, next, 'college')).toEqual({
      down: 2,
      distance: 17,
      spot: 30,
    });
  });

  it('offers nothing when nothing follows otherwise, when the next play says so already, or a half begins', () => {
    expect(mendOf(run, { ...run, playSide: 'middle' }, next, 'college')).toBeUndefined();
    expect(
      mendOf(run, { ...run, endSpot: 44 }, { ...next, spot: 44, distance: 3 }, 'college'),
    ).toBeUndefined();
    expect(
      mendOf({ ...run, quarter: 2 }, { ...run, quarter: 2, endSpot: 44 }, { ...next, quarter: 3 }, 'college'),
    ).toBeUndefined();
  });

  it('is accepted once: what it offers, laid over the next play, leaves nothing to offer', () => {
    fc.assert(
      fc.property(anyPlay, anyPlay, anyPlay, (before, after, following) => {
        const mend = mendOf(before, after, following, 'college');
        if (mend) expect(mendOf(before, after, { ...following, ...mend }, 'college')).toBeUndefined();
      }),
    );
  });
});
