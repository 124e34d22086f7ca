import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Duty } from '../../server/duties/duty.ts';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/duties/opportunities.ts';
import { startingRubricFor } from '../../server/duties/starting-rubric.ts';
import { sideOf } from '../../server/football/crews.ts';
import { isFoulNamed } from '../../server/football/foul-names.ts';
import { type Play, playSchema } from '../../server/football/play.ts';
import type { CrewSize, Position } from '../../server/football/positions.ts';
import { anyCrewSize, anyPlay } from '../support/arbitrary-football.ts';

// Common practice, no source: the conference's own manual prevails.
const college = compileRubric(startingRubricFor('college'));

const owners = (play: Play, size: CrewSize, key: string, rubric = college): Position[] =>
  opportunitiesOf(play, fullCrew(size), rubric)
    .filter(({ dutyKey }) => dutyKey === key)
    .map(({ position }) => position);

/** A play with nobody’s name on it: who owed what then depends on the place alone. */
const nobodyNamed = (play: Play): Play => {
  const { endedBy: _e, ruledBy: _r, clockStoppedBy: _c, fouls: _f, ...rest } = play;
  return rest;
};

describe('who owes the spot', () => {
  it('does not depend on who whistled', () => {
    fc.assert(
      fc.property(anyPlay, anyCrewSize, (play, size) => {
        expect(owners(nobodyNamed(play), size, 'call-the-spot')).toEqual(owners(play, size, 'call-the-spot'));
      }),
    );
  });
});

describe('depth', () => {
  // What is ruled where the ball is: nobody owes it from another depth or from across the field.
  const whereTheBallIs = new Set([
    'in whose zone the ball is dead',
    'who ends the play',
    'who has the spot',
    'who has the sideline',
    'who rules the pass',
    'in whose zone the pass comes down',
    'who rules the loose ball',
    'where the ball came loose',
  ] satisfies Duty['who'][]);
  const atTheBall = compileRubric(
    startingRubricFor('college').filter(({ who }) => whereTheBallIs.has(who as never)),
  );
  const deep: readonly Position[] = ['side judge', 'field judge', 'back judge'];
  const short: readonly Position[] = ['referee', 'umpire', 'center judge', 'head linesman', 'line judge'];

  type Snapped = typeof snapped extends fc.Arbitrary<infer T> ? T : never;
  const snapped = fc.record({
    spot: fc.integer({ min: 10, max: 55 }),
    side: fc.constantFrom('head linesman side' as const, 'middle' as const, 'line judge side' as const),
    gain: fc.integer({ min: -8, max: 40 }),
    result: fc.constantFrom('run' as const, 'complete' as const, 'incomplete' as const),
    fumble: fc.boolean(),
  });

  const playOf = ({ spot, side, gain, result, fumble }: Snapped): Play =>
    playSchema.parse({
      kind: result === 'run' ? 'run' : 'pass',
      spot,
      ...(result === 'run' ? {} : { passResult: result, catchDepth: gain, catchInQuestion: true }),
      playSide: side,
      endSpot: result === 'incomplete' ? spot : spot + gain,
      endSide: side,
      outOfBounds: false,
      score: 'none',
      looseBall: fumble ? 'fumble' : 'none',
      looseBallSpot: spot + gain,
      looseBallSide: side,
      fumbleOrDown: fumble,
      pile: fumble,
    });

  it('is never crossed in a crew of seven or eight: deep officials stay out of short plays, short ones out of deep', () => {
    fc.assert(
      fc.property(snapped, fc.constantFrom(7 as const, 8 as const), (what, size) => {
        const owed = opportunitiesOf(playOf(what), fullCrew(size), atTheBall);
        const never = what.gain <= 12 ? deep : what.gain > 15 ? short : [];
        // An incomplete pass is dead at the line, wherever it came down.
        if (what.result !== 'incomplete')
          expect(owed.filter(({ position }) => never.includes(position))).toEqual([]);
        for (const { position } of owed) {
          if (what.side !== 'middle' && sideOf(position) !== undefined && what.gain >= 0)
            expect(sideOf(position)).toBe(what.side);
        }
      }),
      { numRuns: 500 },
    );
  });
});

describe('whose it is, play by play', () => {
  const run: Play = { kind: 'run', spot: 40, score: 'none', playSide: 'line judge side' };

  it.each([
    // A return is officiated like any other play's end.
    [
      'dead-ball-signal',
      7,
      {
        kind: 'free kick',
        spot: 35,
        kickResult: 'returned',
        endSpot: 70,
        endSide: 'line judge side',
        outOfBounds: false,
        score: 'none',
      },
      ['line judge'],
    ],
    [
      'call-the-spot',
      7,
      {
        kind: 'free kick',
        spot: 35,
        kickResult: 'returned',
        endSpot: 55,
        endSide: 'head linesman side',
        outOfBounds: false,
        score: 'none',
      },
      ['side judge'],
    ],
    // The spot is the wing's when the umpire ends it.
    [
      'call-the-spot',
      8,
      { ...run, endSpot: 43, endSide: 'line judge side', endedBy: 'umpire' },
      ['line judge'],
    ],
    [
      'dead-ball-signal',
      8,
      { ...run, endSpot: 43, endSide: 'line judge side', outOfBounds: false, endedBy: 'umpire' },
      ['umpire'],
    ],
    // Crew of 4, out of bounds deep: the wing of that side, not whoever covers for the back judge.
    [
      'call-in-or-out',
      4,
      { ...run, endSpot: 80, endSide: 'line judge side', outOfBounds: true },
      ['line judge'],
    ],
    [
      'nearest-others-clean-up',
      7,
      { ...run, endSpot: 43, endSide: 'line judge side', outOfBounds: true },
      ['field judge'],
    ],
    [
      'nearest-others-clean-up',
      5,
      { ...run, endSpot: 43, endSide: 'line judge side', outOfBounds: true },
      ['umpire'],
    ],
    // Punt downed at the 3.
    [
      'kick-at-the-goal-line',
      5,
      { kind: 'punt', spot: 40, kickResult: 'downed', endSpot: 97, kickSide: 'line judge side' },
      ['back judge'],
    ],
    [
      'kick-at-the-goal-line',
      7,
      { kind: 'free kick', spot: 35, kickResult: 'touchback', endSpot: 100, kickSide: 'head linesman side' },
      ['head linesman'],
    ],
    // A touchdown from the 12 is the deep wing's, from the 3 the wing's, and back the other way the wing's again.
    [
      'call-touchdown',
      7,
      { kind: 'run', spot: 88, endSpot: 100, endSide: 'line judge side', score: 'touchdown' },
      ['field judge'],
    ],
    [
      'call-touchdown',
      7,
      { kind: 'run', spot: 97, endSpot: 100, endSide: 'line judge side', score: 'touchdown' },
      ['line judge'],
    ],
    [
      'call-touchdown',
      7,
      {
        kind: 'pass',
        spot: 60,
        passResult: 'intercepted',
        endSpot: 0,
        endSide: 'line judge side',
        score: 'touchdown',
      },
      ['line judge'],
    ],
    [
      'call-touchdown',
      7,
      { kind: 'pass', spot: 99, passResult: 'incomplete', endSpot: 99, endSide: 'middle', score: 'none' },
      [],
    ],
    // A safety in the pocket has the referee with it; a returned interception and an incomplete pass have none.
    [
      'call-safety',
      7,
      { kind: 'pass', spot: 4, passResult: 'sack', endSpot: 0, endSide: 'line judge side', score: 'safety' },
      ['referee', 'line judge'],
    ],
    [
      'call-safety',
      7,
      { kind: 'run', spot: 4, endSpot: 0, endSide: 'line judge side', score: 'safety' },
      ['line judge'],
    ],
    [
      'call-safety',
      7,
      {
        kind: 'pass',
        spot: 60,
        passResult: 'intercepted',
        endSpot: 0,
        endSide: 'line judge side',
        score: 'touchdown',
      },
      [],
    ],
    [
      'call-safety',
      7,
      { kind: 'pass', spot: 1, passResult: 'incomplete', endSpot: 1, endSide: 'middle', score: 'none' },
      [],
    ],
    [
      'call-safety',
      7,
      {
        kind: 'punt',
        spot: 8,
        kickResult: 'blocked',
        endSpot: 0,
        endSide: 'line judge side',
        score: 'safety',
      },
      ['referee', 'line judge'],
    ],
    // Goal to go has no line to gain.
    [
      'call-the-line-to-gain',
      7,
      { ...run, spot: 97, distance: 3, endSpot: 99, endSide: 'line judge side' },
      [],
    ],
    // The bag belongs where the ball came loose.
    [
      'bean-bag-at-the-fumble',
      7,
      { ...run, looseBall: 'fumble', looseBallSpot: 70, looseBallSide: 'middle' },
      ['back judge'],
    ],
    [
      'bean-bag-at-the-fumble',
      7,
      { kind: 'pass', spot: 40, passResult: 'sack', looseBall: 'fumble' },
      ['referee'],
    ],
    // No behind-or-beyond from a line that the wing has left.
    [
      'rule-behind-or-beyond',
      7,
      { kind: 'pass', spot: 97, passResult: 'complete', catchDepth: 1, playSide: 'line judge side' },
      [],
    ],
    [
      'rule-behind-or-beyond',
      7,
      {
        kind: 'pass',
        spot: 40,
        passResult: 'complete',
        quickPass: true,
        catchDepth: 7,
        playSide: 'line judge side',
      },
      [],
    ],
    // A kneel-down has no blocks to watch.
    ['blocks-behind-the-line', 7, { ...run, snapFor: 'kneel' }, []],
    ['blocks-behind-the-line', 7, { ...run, snapFor: 'play' }, ['umpire']],
    ['watch-the-play-clock', 4, run, ['referee']],
    ['end-line-on-goal-line-snaps', 6, { kind: 'run', spot: 97 }, ['side judge', 'field judge']],
    ['end-line-on-goal-line-snaps', 4, { kind: 'run', spot: 97 }, []],
  ] as [string, CrewSize, Play, Position[]][])('%s, crew of %i, %o: %o', (key, size, play, expected) => {
    expect(owners(playSchema.parse(play), size, key)).toEqual(expected);
  });

  it('a flag picked up was reported and announced, but chosen and walked off by nobody', () => {
    const play: Play = {
      ...run,
      fouls: [{ foul: 'holding', by: 'offense', reportedBy: 'umpire', outcome: 'picked up' }],
    };
    expect(owners(play, 7, 'report-the-foul')).toEqual(['umpire']);
    expect(owners(play, 7, 'announce-every-foul')).toEqual(['referee']);
    for (const key of ['confirm-the-choice', 'walk-off-the-penalty', 'offsetting-signal'])
      expect(owners(play, 7, key)).toEqual([]);
  });
});

it('knows a foul by its name however it is written', () => {
  const foul = (text: string) => ({ foul: text, by: 'defense' }) as const;
  for (const text of ['Targeting', 'personal foul, targeting', 'TARGETING'])
    expect(isFoulNamed(foul(text), 'targeting')).toBe(true);
  expect(isFoulNamed(foul('Off-side'), 'offside')).toBe(true);
  expect(isFoulNamed(foul('Unsportsmanlike conduct'), 'unsportsmanlike conduct')).toBe(true);
  expect(isFoulNamed(foul('holding'), 'targeting', 'offside', 'encroachment')).toBe(false);
});
