import { foulNames } from './foul-names.ts';
import { type Foul, foulOutcomes } from './fouls.ts';
import type { Play } from './play.ts';
import { clockStops, type Fact, playKinds } from './play.ts';
import { positions } from './positions.ts';
import { lanes } from './sides.ts';

// A value on each side of every boundary that situations use, everyday ones first. `fouls` holds the mixes that situations tell apart.
const bools = [true, false];
const yards = [35, 50, 40, 20, 65, 80, 10, 90, 5, 6, 94, 95, 97, 99, 100, 3, 2, 1, 0];
const depths = [8, 15, 25, 12, 13, 3, 2, 1, 0, -1, -2, -3, -10];

/** Every mix of reporting position and outcome, alone and with a second foul of each outcome. */
const oneFoul = positions.flatMap((reportedBy) =>
  foulOutcomes.map((outcome) => ({ foul: 'holding', by: 'offense', reportedBy, outcome }) as const),
);
const foulMixes: Foul[][] = [
  [],
  ...oneFoul.map((foul) => [foul]),
  ...oneFoul.flatMap((first) =>
    foulOutcomes.map((outcome) => [
      first,
      { foul: 'offside', by: 'defense', reportedBy: 'umpire', outcome } as const,
    ]),
  ),
  // Two that offset and one more that is declined or enforced.
  ...positions.flatMap((reportedBy) =>
    (['accepted', 'declined'] as const).map((outcome): Foul[] => [
      { foul: 'holding', by: 'offense', reportedBy: 'umpire', outcome: 'offsetting' },
      { foul: 'offside', by: 'defense', reportedBy: 'umpire', outcome: 'offsetting' },
      { foul: 'unsportsmanlike conduct', by: 'defense', reportedBy, outcome },
    ]),
  ),
];

/** The fouls that situations know by name, whoever reports them. */
const namedFouls = Object.keys(foulNames).flatMap((foul) =>
  positions.map((reportedBy): Foul[] => [{ foul, by: 'defense', reportedBy, outcome: 'accepted' }]),
);

/**
 * Values that between them tell apart everything the situations can tell apart: enough to search for a play on
 * which a set of situations holds together.
 */
export const sampleValues: { readonly [F in Fact]-?: readonly Exclude<Play[F], undefined>[] } = {
  kind: playKinds,
  spot: yards,
  quarter: [1, 2, 3, 4, 5],
  clockSeconds: [0, 120, 121, 900],
  clockAbout: [0, 120, 240, 900],
  down: [1, 2, 3, 4],
  distance: [1, 2, 5, 10, 15],
  offense: ['home', 'visitor'],
  snapSide: lanes,
  strongSide: lanes,
  shift: bools,
  snapFor: ['play', 'kneel', 'spike'],
  hurryUp: bools,
  offenseSubstituted: bools,
  motion: ['none', ...lanes],
  motionFrom: lanes,
  playSide: lanes,
  carrier: ['quarterback', 'other'],
  passResult: ['complete', 'incomplete', 'intercepted', 'sack', 'scramble'],
  catchDepth: depths,
  throwDepth: depths,
  quickPass: bools,
  pressure: bools,
  catchInQuestion: bools,
  backwardPass: bools,
  drivenBack: bools,
  looseBall: ['none', 'fumble', 'muff', 'blocked kick'],
  looseBallSpot: yards,
  looseBallSide: lanes,
  recoveredBy: ['offense', 'defense'],
  fumbleOrDown: bools,
  pile: bools,
  kickResult: [
    'returned',
    'fair catch',
    'touchback',
    'downed',
    'out of bounds',
    'blocked',
    'good',
    'no good',
  ],
  kickTo: yards,
  kickSide: lanes,
  kickCrossed: bools,
  kickTouchedBy: ['nobody', 'kicking team', 'receiving team', 'both'],
  fairCatchSignal: bools,
  momentum: bools,
  onside: bools,
  firstTouching: bools,
  tryBy: ['kick', 'run', 'pass'],
  endSpot: yards,
  endSide: lanes,
  outOfBounds: bools,
  endedBy: positions,
  yardsFromSideline: [0, 5, 6, 20],
  ruledBy: positions,
  rulingsDiffered: bools,
  lineToGainInQuestion: bools,
  measured: bools,
  score: ['none', 'touchdown', 'field goal', 'safety', 'try good'],
  turnover: ['none', 'interception', 'fumble', 'downs'],
  fouls: [...foulMixes, ...namedFouls],
  helmetOff: bools,
  helmetOffByFoul: bools,
  injury: bools,
  confrontation: bools,
  coachDispute: bools,
  ejection: bools,
  timeout: ['none', 'team', 'official'],
  timeoutBy: ['offense', 'defense'],
  clockAfter: ['running', 'stopped'],
  clockStoppedFor: clockStops,
  clockStoppedBy: positions,
  clockStartsOn: ['ready', 'snap'],
  tenSecondRunoff: bools,
  inadvertentWhistle: bools,
  replay: ['none', 'confirmed', 'stands', 'overturned'],
};
