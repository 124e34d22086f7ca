import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Code } from '../../server/football/codes.ts';
import { contradictionsIn } from '../../server/football/contradictions/index.ts';
import { positionsOf } from '../../server/football/crews.ts';
import { type Fact, facts, type Play } from '../../server/football/play.ts';
import { anyPlay } from '../support/arbitrary-football.ts';

const crew = positionsOf(7);
const log = (...plays: Play[]) => plays.map((play, at) => ({ number: at + 1, play }));
const found = (plays: Play[], code?: Code) => contradictionsIn(log(...plays), crew, code);

/** Nothing out of the ordinary, and nobody left it open. */
const plain: Partial<Play> = { quarter: 2, score: 'none', turnover: 'none', looseBall: 'none', fouls: [] };
const run: Play = { ...plain, kind: 'run', spot: 40, down: 2, distance: 7, endSpot: 43 };
const pass: Play = {
  ...plain,
  kind: 'pass',
  spot: 40,
  down: 2,
  distance: 7,
  passResult: 'complete',
  endSpot: 43,
};
const punt: Play = {
  ...plain,
  kind: 'punt',
  spot: 40,
  down: 4,
  distance: 7,
  kickResult: 'fair catch',
  endSpot: 80,
};
const kickoff: Play = {
  ...plain,
  kind: 'free kick',
  spot: 35,
  kickResult: 'returned',
  endSpot: 75,
  firstTouching: false,
};
const aTry: Play = { ...plain, kind: 'try', spot: 97, tryBy: 'kick', kickResult: 'good', score: 'try good' };
const fieldGoal: Play = { ...plain, kind: 'place kick', spot: 75, kickResult: 'good', score: 'field goal' };
const noSnap: Play = {
  ...plain,
  kind: 'no snap',
  spot: 43,
  down: 3,
  distance: 4,
  fouls: [{ foul: 'false start', by: 'offense', outcome: 'accepted' }],
};
const after = (down: number, distance: number, spot: number, more: Partial<Play> = {}): Play => ({
  ...run,
  down,
  distance,
  spot,
  endSpot: spot + 1,
  ...more,
});
const flag = (outcome?: 'accepted' | 'declined' | 'picked up'): Pick<Play, 'fouls'> => ({
  fouls: [{ foul: 'holding', by: 'offense', ...(outcome && { outcome }) }],
});

/** What contradicts, and plays so like it that a careless check would tell of them, too. */
const cases: [what: string, wrong: Play[], fact: Fact, says: RegExp, right: Play[][], code?: Code][] = [
  [
    'a distance beyond the goal line',
    [{ ...run, spot: 95, endSpot: 96 }],
    'distance',
    /7 to go from opponent's 5 lies beyond the goal line/,
    [[{ ...run, spot: 93, endSpot: 94 }]],
  ],
  [
    'a clock over the quarter',
    [{ ...run, clockSeconds: 721 }],
    'clockSeconds',
    /12:01 is left in a quarter of 12:00/,
    [[{ ...run, clockSeconds: 720 }], [{ ...run, quarter: 5, clockSeconds: 721 }]],
    'high school',
  ],
  [
    'a touchdown short of the goal line',
    [{ ...run, score: 'touchdown', endSpot: 98 }],
    'score',
    /A touchdown, but the ball was dead at opponent's 2/,
    [
      [{ ...run, score: 'touchdown', endSpot: 100 }],
      [{ ...run, score: 'touchdown', endSpot: 0, turnover: 'fumble', looseBall: 'fumble' }],
      [{ kind: 'run', spot: 90, score: 'touchdown' }],
    ],
  ],
  [
    'a safety in the field of play',
    [{ ...run, score: 'safety', endSpot: 2 }],
    'score',
    /A safety, but the ball was dead at own 2/,
    [
      [{ ...run, score: 'safety', endSpot: 0 }],
      [{ ...run, score: 'safety', endSpot: 2, ...flag('accepted') }],
    ],
  ],
  [
    'the goal line crossed and nothing scored',
    [{ ...run, endSpot: 100 }],
    'score',
    /nothing was scored/,
    [
      [{ ...run, endSpot: 100, ...flag('accepted') }],
      [{ ...run, endSpot: 100, ...flag() }],
      [{ ...run, endSpot: 100, looseBall: 'fumble' }],
      [{ ...run, endSpot: 99 }],
    ],
  ],
  [
    'a try that scores a touchdown',
    [{ ...aTry, kickResult: undefined, tryBy: 'run', score: 'touchdown' }],
    'score',
    /score is touchdown on a try/,
    [[aTry]],
  ],
  ['a field goal on a run', [{ ...run, score: 'field goal' }], 'score', /field goal on a run/, [[fieldGoal]]],
  [
    'a field goal whose kick was no good',
    [{ ...fieldGoal, kickResult: 'no good' }],
    'score',
    /kick was no good, but/,
    [[{ ...fieldGoal, kickResult: 'no good', score: 'none' }]],
  ],
  [
    'a good kick that scores nothing',
    [{ ...fieldGoal, score: 'none' }],
    'score',
    /nothing was scored/,
    [[{ ...fieldGoal, score: 'none', ...flag('accepted') }]],
  ],
  [
    'kick facts on a run',
    [{ ...run, kickResult: 'downed' }],
    'kickResult',
    /Kick is downed on a run/,
    [[{ ...run, firstTouching: false, onside: false, kickTouchedBy: 'nobody' }]],
  ],
  ['pass facts on a run', [{ ...run, passResult: 'sack' }], 'passResult', /sack on a run/, [[pass]]],
  [
    'a kick on a try by pass',
    [{ ...aTry, tryBy: 'pass' }],
    'tryBy',
    /on a try by pass/,
    [[{ ...aTry, tryBy: 'pass', passResult: 'complete', kickResult: undefined }]],
  ],
  [
    'an incomplete pass dead elsewhere',
    [{ ...pass, passResult: 'incomplete', endSpot: 52 }],
    'endSpot',
    /incomplete, but the ball was dead at opponent's 48/,
    [
      [{ ...pass, passResult: 'incomplete', endSpot: 40 }],
      [{ ...pass, passResult: 'incomplete', endSpot: undefined }],
      [{ ...pass, passResult: 'incomplete', endSpot: 52, ...flag('accepted') }],
    ],
  ],
  [
    'a sack that gains',
    [{ ...pass, passResult: 'sack', endSpot: 44 }],
    'endSpot',
    /A sack, but the ball was dead 4 beyond/,
    [
      [{ ...pass, passResult: 'sack', endSpot: 40 }],
      [{ ...pass, passResult: 'sack', endSpot: 44, looseBall: 'fumble' }],
    ],
  ],
  [
    'a catch beyond the end line',
    [{ ...pass, spot: 80, distance: 10, catchDepth: 31, endSpot: 100, score: 'touchdown' }],
    'catchDepth',
    /lies beyond the end line/,
    [[{ ...pass, spot: 80, distance: 10, catchDepth: 30, endSpot: 100, score: 'touchdown' }]],
  ],
  [
    'a catch in the end zone, dead outside it',
    [{ ...pass, spot: 80, distance: 10, catchDepth: 22, endSpot: 95 }],
    'endSpot',
    /Caught beyond the goal line, but dead at opponent's 5/,
    [[{ ...pass, spot: 80, distance: 10, catchDepth: 12, endSpot: 95 }]],
  ],
  [
    'an interception of a complete pass',
    [{ ...pass, turnover: 'interception' }],
    'turnover',
    /turnover is an interception, but the pass is complete/,
    [[{ ...pass, passResult: 'intercepted', turnover: 'interception' }]],
  ],
  [
    'an intercepted pass that loses nothing',
    [{ ...pass, passResult: 'intercepted' }],
    'turnover',
    /intercepted, but the turnover is none/,
    [
      [{ ...pass, passResult: 'intercepted', looseBall: 'fumble' }],
      [{ ...pass, passResult: 'intercepted', ...flag('accepted') }],
      [{ ...pass, passResult: 'intercepted', turnover: undefined }],
    ],
  ],
  [
    'a fumble lost with no loose ball',
    [{ ...run, turnover: 'fumble' }],
    'looseBall',
    /no ball came loose/,
    [
      [{ ...run, turnover: 'fumble', looseBall: 'fumble' }],
      [{ ...run, turnover: 'fumble', looseBall: undefined }],
    ],
  ],
  [
    'the ball lost on downs on second down',
    [{ ...run, turnover: 'downs' }],
    'turnover',
    /lost on downs, on down 2/,
    [[{ ...run, down: 4, turnover: 'downs' }]],
  ],
  [
    'the ball lost on downs beyond the line to gain',
    [{ ...run, down: 4, endSpot: 50, turnover: 'downs' }],
    'turnover',
    /beyond the line to gain/,
    [[{ ...run, down: 4, endSpot: 46, turnover: 'downs' }]],
  ],
  [
    'first touching of a kick that the receivers alone touched',
    [{ ...punt, kickResult: 'downed', firstTouching: true, kickTouchedBy: 'receiving team' }],
    'kickTouchedBy',
    /touched by the receiving team/,
    [[{ ...punt, kickResult: 'downed', firstTouching: true, kickTouchedBy: 'both' }]],
  ],
  [
    'a punt touched by the kickers alone without first touching',
    [{ ...punt, kickResult: 'downed', firstTouching: false, kickTouchedBy: 'kicking team' }],
    'firstTouching',
    /no first touching/,
    [
      [
        {
          ...punt,
          kickResult: 'touchback',
          endSpot: 100,
          firstTouching: false,
          kickTouchedBy: 'kicking team',
        },
      ],
      [
        {
          ...kickoff,
          onside: true,
          kickResult: 'downed',
          kickTouchedBy: 'kicking team',
          firstTouching: false,
        },
      ],
    ],
  ],
  [
    'a kick touched beyond a line that it did not cross',
    [{ ...punt, kickCrossed: false, kickResult: 'blocked', kickTouchedBy: 'receiving team' }],
    'kickCrossed',
    /did not cross/,
    [[{ ...punt, kickCrossed: false, kickResult: 'blocked', kickTouchedBy: 'nobody' }]],
  ],
  [
    'out of bounds in the middle',
    [{ ...run, outOfBounds: true, endSide: 'middle' }],
    'endSide',
    /Out of bounds, but dead in the middle/,
    [
      [{ ...run, outOfBounds: true, endSide: 'line judge side' }],
      [{ ...run, outOfBounds: true, endSide: 'middle', endSpot: 0, score: 'safety' }],
      [{ ...punt, outOfBounds: true, endSide: 'middle', endSpot: 100, kickResult: 'touchback' }],
      [{ ...pass, passResult: 'incomplete', outOfBounds: true, endSide: 'middle', endSpot: 40 }],
    ],
  ],
  [
    'out of bounds five yards inside',
    [{ ...run, outOfBounds: true, yardsFromSideline: 5 }],
    'yardsFromSideline',
    /dead 5 inside the sideline/,
    [
      [{ ...run, outOfBounds: true, yardsFromSideline: 0 }],
      [{ ...run, outOfBounds: false, yardsFromSideline: 5 }],
    ],
  ],
  [
    'a clock that ran on and was stopped for a score',
    [{ ...run, outOfBounds: true, clockAfter: 'running', clockStoppedFor: 'out of bounds' }],
    'clockAfter',
    /ran on after the play, but was stopped for out of bounds/,
    [
      [{ ...run, clockAfter: 'running', clockStoppedFor: 'team time-out', timeout: 'team' }],
      [{ ...run, clockAfter: 'running', clockStoppedFor: 'none' }],
      [{ ...run, clockAfter: 'stopped', clockStoppedFor: 'first down' }],
    ],
  ],
  [
    'a clock that nothing stopped, and somebody did',
    [{ ...run, clockStoppedFor: 'none', clockStoppedBy: 'referee' }],
    'clockStoppedBy',
    /Nothing stopped the clock, but the referee did/,
    [[{ ...run, clockStoppedFor: 'first down', clockStoppedBy: 'referee' }]],
  ],
  [
    'a clock stopped for an incomplete pass on a run',
    [{ ...run, clockStoppedFor: 'incomplete pass' }],
    'clockStoppedFor',
    /stopped for incomplete pass, but kind of play is run/,
    [[{ ...run, clockStoppedFor: 'out of bounds', outOfBounds: true }]],
  ],
  [
    'a clock stopped for what did not happen',
    [{ ...run, outOfBounds: false, clockStoppedFor: 'out of bounds' }],
    'clockStoppedFor',
    /stopped for out of bounds, but out of bounds is no/,
    [[{ ...run, clockStoppedFor: 'out of bounds' }]],
  ],
  [
    'a ten-second runoff in high school',
    [{ ...run, tenSecondRunoff: true }],
    'tenSecondRunoff',
    /high school code has no ten-second runoff/,
    [[{ ...run, tenSecondRunoff: false }]],
    'high school',
  ],
  [
    "an official's time-out of a team",
    [{ ...run, timeout: 'official', timeoutBy: 'offense' }],
    'timeoutBy',
    /Whose time-out is offense, but time-out is official/,
    [[{ ...run, timeout: 'team', timeoutBy: 'offense' }]],
  ],
  [
    'motion from somewhere without motion',
    [{ ...run, motion: 'none', motionFrom: 'middle' }],
    'motionFrom',
    /but motion is none/,
    [[{ ...run, motion: 'middle', motionFrom: 'line judge side' }]],
  ],
  [
    'an end by an official who did not work',
    [{ ...run, endedBy: 'center judge' }],
    'endedBy',
    /The center judge did not work this game/,
    [[{ ...run, endedBy: 'umpire' }]],
  ],
  [
    'a foul reported by an official who did not work',
    [{ ...run, fouls: [{ foul: 'holding', by: 'offense', reportedBy: 'center judge' }] }],
    'fouls',
    /center judge did not work this game, but reported holding/,
    [[{ ...run, fouls: [{ foul: 'holding', by: 'offense', reportedBy: 'umpire' }] }]],
  ],

  // From play to play
  [
    'a third down after a first down was made',
    [{ ...run, endSpot: 50 }, after(3, 10, 50)],
    'down',
    /It is 3rd down, but after play 1 it should be 1st/,
    [
      [{ ...run, endSpot: 50 }, after(1, 10, 50)],
      [{ ...run, endSpot: 50, ...flag('accepted') }, after(3, 10, 50)],
      [{ ...run, endSpot: 50, fouls: undefined }, after(3, 10, 50)],
      [{ ...run, endSpot: 50, replay: 'overturned' }, after(3, 10, 50)],
      [{ ...run, endSpot: 50, quarter: undefined }, after(3, 10, 50)],
    ],
  ],
  [
    'a first down before the line to gain',
    [run, after(1, 10, 43)],
    'down',
    /It is 1st down, but after play 1 it should be 3rd/,
    [
      [run, after(3, 4, 43)],
      // Within a yard of the line to gain, whole yards do not tell.
      [{ ...run, endSpot: 46 }, after(1, 10, 46)],
      [{ ...run, endSpot: 47 }, after(3, 1, 47)],
      [{ ...run, quarter: 2 }, after(1, 10, 75, { quarter: 3 })],
      [{ ...run, quarter: 5 }, after(1, 10, 75, { quarter: 5 })],
    ],
  ],
  [
    'a second down after the ball was lost',
    [{ ...pass, passResult: 'intercepted', turnover: 'interception', endSpot: 60 }, after(2, 10, 40)],
    'down',
    /It is 2nd down, but after play 1 it should be 1st/,
    [[{ ...pass, passResult: 'intercepted', turnover: 'interception', endSpot: 60 }, after(1, 10, 40)]],
  ],
  [
    'a second down after a punt',
    [punt, after(2, 10, 20)],
    'down',
    /should be 1st/,
    [
      [punt, after(1, 10, 20)],
      [{ ...punt, kickResult: 'touchback', endSpot: 100 }, after(1, 10, 20)],
      [{ ...punt, kickResult: 'returned', looseBall: 'muff', firstTouching: false }, after(1, 10, 80)],
    ],
  ],
  [
    'a spot that does not follow',
    [run, after(3, 4, 48)],
    'spot',
    /put in play at own 48, but after play 1, with no penalty, it should be at own 43/,
    [
      [run, after(3, 4, 43)],
      [run, after(3, 4, 44)],
      [{ ...run, ...flag('accepted') }, after(3, 4, 48)],
      [{ ...run, ...flag() }, after(3, 4, 48)],
      [{ ...run, ...flag('picked up') }, after(3, 4, 43)],
      [noSnap, after(3, 9, 38)],
      [{ ...kickoff, momentum: true }, after(1, 10, 30)],
      [{ ...kickoff, kickResult: 'fair catch', endSpot: 90 }, after(1, 10, 25)],
    ],
  ],
  [
    'a college touchback brought out to the 20',
    [{ ...kickoff, kickResult: 'touchback', endSpot: 100 }, after(1, 10, 20)],
    'spot',
    /should be at own 25/,
    [[{ ...kickoff, kickResult: 'touchback', endSpot: 100 }, after(1, 10, 25)]],
  ],
  [
    'a high school touchback brought out to the 25',
    [{ ...kickoff, kickResult: 'touchback', endSpot: 100 }, after(1, 10, 25)],
    'spot',
    /should be at own 20/,
    [[{ ...kickoff, kickResult: 'touchback', endSpot: 100 }, after(1, 10, 20)]],
    'high school',
  ],
  [
    'a distance that does not follow',
    [run, after(3, 8, 43)],
    'distance',
    /There are 8 to go, but after play 1 there should be 4/,
    [
      [run, after(3, 5, 43)],
      [{ ...run, spot: 95, distance: 5, endSpot: 97 }, after(3, 3, 97)],
    ],
  ],
  [
    'the other team with the ball after a run',
    [{ ...run, offense: 'home' }, after(3, 4, 43, { offense: 'visitor' })],
    'offense',
    /The other team has the ball/,
    [
      [{ ...run, offense: 'home' }, after(3, 4, 43, { offense: 'home' })],
      [{ ...punt, offense: 'home' }, after(1, 10, 20, { offense: 'visitor' })],
    ],
  ],
  [
    'a try after no touchdown',
    [run, aTry],
    'kind',
    /A try, but play 1 scored no touchdown/,
    [
      [{ ...run, score: 'touchdown', endSpot: 100 }, aTry],
      [
        { ...run, score: 'touchdown', endSpot: 100 },
        { ...noSnap, down: undefined, distance: undefined, spot: 97 },
        aTry,
      ],
      [{ ...run, score: undefined }, aTry],
      [aTry],
    ],
  ],
  [
    'a free kick out of nowhere',
    [run, kickoff],
    'kind',
    /nothing was scored on play 1/,
    [
      [
        { ...run, quarter: 2 },
        { ...kickoff, quarter: 3 },
      ],
      [fieldGoal, kickoff],
    ],
  ],
  ['a run after a field goal', [fieldGoal, after(1, 10, 25)], 'kind', /comes a free kick/, [[aTry, kickoff]]],
  [
    'a clock that goes up',
    [{ ...run, clockSeconds: 300 }, after(3, 4, 43, { clockSeconds: 320 })],
    'clockSeconds',
    /5:20 is left, but earlier in the same quarter it was 5:00/,
    [
      [{ ...run, clockSeconds: 300 }, after(3, 4, 43, { clockSeconds: 300 })],
      [{ ...run, clockSeconds: 300, quarter: 1 }, after(3, 4, 43, { clockSeconds: 900 })],
      [{ ...run, clockSeconds: 300, replay: 'overturned' }, after(3, 4, 43, { clockSeconds: 320 })],
    ],
  ],
  [
    'a quarter that goes back',
    [{ ...run, quarter: 3 }, after(3, 4, 43, { quarter: 2 })],
    'quarter',
    /Quarter 2 comes after quarter 3/,
    [[{ ...run, quarter: 1 }, after(3, 4, 43, { quarter: 2 })]],
  ],
  [
    'a quarter left out',
    [{ ...run, quarter: 1 }, after(3, 4, 43, { quarter: 3 })],
    'quarter',
    /Quarter 3 comes right after quarter 1/,
    [[{ ...run, quarter: 1 }, after(3, 4, 43, { quarter: undefined }), after(4, 3, 44, { quarter: 3 })]],
  ],
];

describe('a ball dead beyond the field', () => {
  const fact = (play: Play) => found([play]).find((one) => one.fact === 'endSpot');

  it('is told where there is no field, and kept', () => {
    expect(fact({ ...run, endSpot: 111 })).toMatchObject({ fix: 'Correct the dead-ball spot.' });
    expect(fact({ ...run, endSpot: -11, score: 'safety' })?.says).toContain('in own end zone, 11 deep');
    expect(fact({ ...run, endSpot: 110, score: 'touchdown' })).toBeUndefined();
    expect(fact({ ...run, endSpot: -10, score: 'safety' })).toBeUndefined();
  });

  it('in an end zone is decided as on the goal line', () => {
    const over = (spot: number) => found([{ ...run, endSpot: spot }]).map((one) => one.fact);
    expect(over(105)).toEqual(over(100));
    expect(over(105)).toContain('score');
  });
});

describe('a play log that contradicts itself', () => {
  it.each(cases)('%s', (_, wrong, fact, says, right, code) => {
    const all = found(wrong, code);
    expect(all).toHaveLength(1);
    expect(all[0]).toMatchObject({ number: wrong.length, fact, says: expect.stringMatching(says) });
    // One sentence each, and a fix that says what to do.
    expect(all[0]!.says).toMatch(/^[A-Z0-9].*\.$/);
    expect(all[0]!.fix).toMatch(/^[A-Z].*\.$/);
    for (const plays of right) expect(found(plays, code)).toEqual([]);
  });

  it('lets a college clock show what a high school quarter has not', () => {
    expect(found([{ ...run, clockSeconds: 721 }], 'college')).toEqual([]);
  });

  it('says nothing of officials while nobody is entered as working', () => {
    expect(contradictionsIn(log({ ...run, endedBy: 'center judge' }), [])).toEqual([]);
  });

  it('says nothing where plays are left out of the numbers', () => {
    expect(contradictionsIn([log(run)[0]!, { number: 3, play: after(1, 10, 60) }], crew)).toEqual([]);
  });

  it('says nothing of a log that has only what logs always had to have', () => {
    fc.assert(
      fc.property(fc.array(anyPlay, { maxLength: 6 }), (plays) => {
        expect(
          found(plays.map(({ kind, spot }) => ({ kind, spot }))).filter(({ fact }) => fact !== 'kind'),
        ).toEqual([]);
      }),
    );
  });

  it('never finds more when a fact is not logged', () => {
    const takenAsNone: readonly Fact[] = ['looseBall', 'replay', 'inadvertentWhistle', 'momentum'];
    const removable = facts.filter(
      (fact) => fact !== 'kind' && fact !== 'spot' && !takenAsNone.includes(fact),
    );
    fc.assert(
      fc.property(
        fc.array(anyPlay, { minLength: 1, maxLength: 4 }),
        fc.nat(3),
        fc.constantFrom(...removable),
        (plays, at, fact) => {
          const less = plays.map((play, each) =>
            each === at % plays.length ? { ...play, [fact]: undefined } : play,
          );
          expect(found(less).length).toBeLessThanOrEqual(found(plays).length);
        },
      ),
      { numRuns: 3000 },
    );
  });
});
