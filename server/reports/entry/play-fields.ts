import { clockAtMost } from '../../football/about-the-clock.ts';
import { clockInWords } from '../../football/clock-words.ts';
import { clockStops, type Fact, type Play, type PlayKind, playKinds } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { lanes } from '../../football/sides.ts';

/** The rarer facts in small groups, in the order of a play. */
export const sections = [
  'Before the snap',
  'The pass',
  'The kick',
  'Loose ball',
  'How it ended',
  'The clock',
  'After the play',
] as const;
type Section = (typeof sections)[number];

/** How one fact of a play is entered. `choice` and `yes-no` can be left open; an open fact is unknown. */
export type PlayField = {
  readonly fact: Fact;
  readonly label: string;
  readonly hint?: string;
  readonly control: 'choice' | 'yes-no' | 'number' | 'clock' | 'fouls';
  readonly options?: readonly string[];
  readonly min?: number;
  readonly max?: number;
  /** The kinds of play it is asked for; all when left out. */
  readonly kinds?: readonly PlayKind[];
  /** Whether it can matter on a play of these facts; where they leave that open, it can. */
  readonly when?: (play: Play) => boolean;
  /** `start` and `result` are always in sight; a section of the others opens on request. */
  readonly group: 'start' | 'result' | Section;
};

const scrimmage: readonly PlayKind[] = ['run', 'pass', 'punt', 'place kick', 'try', 'no snap'];
const kicks: readonly PlayKind[] = ['punt', 'free kick', 'place kick', 'try'];
const moving: readonly PlayKind[] = ['run', 'pass', 'punt', 'free kick', 'try'];
const returnable: readonly PlayKind[] = ['punt', 'free kick'];
const passing: readonly PlayKind[] = ['pass', 'try'];
const putInPlay: readonly PlayKind[] = ['run', 'pass', 'punt', 'free kick', 'place kick', 'try'];

const thrown = ({ passResult }: Play) => passResult !== 'sack' && passResult !== 'scramble';
const notByKick = ({ kind, tryBy }: Play) => kind !== 'try' || tryBy !== 'kick';
const byKick = ({ kind, tryBy }: Play) => kind !== 'try' || (tryBy !== 'run' && tryBy !== 'pass');
const byPass = (play: Play) => play.kind !== 'try' || (play.tryBy !== 'kick' && play.tryBy !== 'run');
const wentLoose = ({ looseBall }: Play) => looseBall !== undefined && looseBall !== 'none';
const clockStopped = ({ clockAfter, clockStoppedFor: stop }: Play) =>
  clockAfter === 'stopped' || (stop !== undefined && stop !== 'none');
const cameDown = ({ kickResult }: Play) => kickResult !== 'blocked';
const ended = ({ kind, passResult }: Play) => kind !== 'pass' || passResult !== 'incomplete';
/** The last minute of a half, or while nobody logged when it was. */
const lateInAHalf = (play: Play) =>
  (play.quarter === undefined || play.quarter === 2 || play.quarter === 4) && clockAtMost(play, 90) !== false;

const choice = (
  fact: Fact,
  label: string,
  options: readonly string[],
  group: PlayField['group'],
  more: Partial<PlayField> = {},
): PlayField => ({ fact, label, control: 'choice', options, group, ...more });
const yesNo = (
  fact: Fact,
  label: string,
  group: PlayField['group'],
  more: Partial<PlayField> = {},
): PlayField => ({ fact, label, control: 'yes-no', group, ...more });
const yards = (
  fact: Fact,
  label: string,
  group: PlayField['group'],
  more: Partial<PlayField> = {},
): PlayField => ({ fact, label, control: 'number', min: 0, max: 100, group, ...more });

export const playFields: readonly PlayField[] = [
  choice('kind', 'Kind', playKinds, 'start'),
  yards('quarter', 'Quarter', 'start', { min: 1, max: 12 }),
  { fact: 'clockSeconds', label: 'Clock', hint: 'm:ss', control: 'clock', group: 'start' },
  yards('down', 'Down', 'start', { min: 1, max: 4, kinds: scrimmage }),
  yards('distance', 'To go', 'start', { min: 1, max: 99, kinds: scrimmage }),
  yards('spot', 'Spot', 'start', { hint: 'yards from the offense’s goal line' }),
  choice('offense', 'Offense', ['home', 'visitor'], 'start'),

  choice('tryBy', 'Try by', ['kick', 'run', 'pass'], 'result', { kinds: ['try'] }),
  choice('passResult', 'Pass', ['complete', 'incomplete', 'intercepted', 'sack', 'scramble'], 'result', {
    kinds: passing,
    when: byPass,
  }),
  yards('catchDepth', 'Caught at', 'result', {
    hint: 'yards beyond the line',
    min: -50,
    kinds: passing,
    when: (play) => byPass(play) && thrown(play),
  }),
  choice('carrier', 'Carrier', ['quarterback', 'other'], 'result', {
    kinds: ['run', 'try'],
    when: ({ kind, tryBy }) => kind !== 'try' || tryBy === 'run',
  }),
  choice(
    'kickResult',
    'Kick',
    ['returned', 'fair catch', 'touchback', 'downed', 'out of bounds', 'blocked', 'good', 'no good'],
    'result',
    { kinds: kicks, when: byKick },
  ),
  yards('kickTo', 'Came down at', 'result', { hint: 'same count', kinds: returnable, when: cameDown }),
  choice('kickSide', 'Came down on', lanes, 'result', { kinds: returnable, when: cameDown }),
  choice('playSide', 'Went to', lanes, 'result', { kinds: moving, when: notByKick }),
  yards('endSpot', 'Dead at', 'result', { hint: 'same count', min: -50, max: 150 }),
  choice('endSide', 'Dead on', lanes, 'result', { kinds: moving, when: notByKick }),
  yesNo('outOfBounds', 'Out of bounds', 'result', { kinds: moving, when: notByKick }),
  choice('endedBy', 'Ended by', positions, 'result', {
    kinds: moving,
    when: (play) => notByKick(play) && ended(play),
  }),
  choice('score', 'Score', ['none', 'touchdown', 'field goal', 'safety', 'try good'], 'result'),
  choice('turnover', 'Turnover', ['none', 'interception', 'fumble', 'downs'], 'result', {
    kinds: ['run', 'pass', 'punt', 'free kick', 'place kick'],
  }),
  { fact: 'fouls', label: 'Fouls', control: 'fouls', group: 'result' },

  choice('snapSide', 'Ball placed', lanes, 'Before the snap'),
  choice('strongSide', 'More receivers', lanes, 'Before the snap', { kinds: scrimmage }),
  choice('motion', 'Motion to', ['none', ...lanes], 'Before the snap', { kinds: scrimmage }),
  choice('motionFrom', 'Motion from', lanes, 'Before the snap', {
    kinds: scrimmage,
    when: ({ motion }) => motion !== undefined && motion !== 'none',
  }),
  yesNo('shift', 'Shift', 'Before the snap', { kinds: scrimmage }),
  choice('snapFor', 'Snapped for', ['play', 'kneel', 'spike'], 'Before the snap', { kinds: ['run', 'pass'] }),
  yesNo('hurryUp', 'Hurry-up', 'Before the snap', { kinds: scrimmage }),
  yesNo('offenseSubstituted', 'Offense substituted', 'Before the snap', { kinds: scrimmage }),

  yards('throwDepth', 'Passer’s foot', 'The pass', {
    hint: 'yards beyond the line',
    min: -50,
    kinds: passing,
    when: (play) => byPass(play) && thrown(play),
  }),
  yesNo('quickPass', 'Quick pass', 'The pass', {
    kinds: passing,
    when: (play) => byPass(play) && thrown(play),
  }),
  yesNo('pressure', 'Pressure on the passer', 'The pass', { kinds: passing, when: byPass }),
  yesNo('catchInQuestion', 'Catch in question', 'The pass', {
    kinds: passing,
    when: (play) => byPass(play) && thrown(play),
  }),
  yesNo('backwardPass', 'Backward pass', 'The pass', { kinds: ['run', 'pass', 'try'], when: notByKick }),

  yesNo('kickCrossed', 'Crossed the line', 'The kick', { kinds: ['punt', 'place kick'] }),
  choice('kickTouchedBy', 'Touched by', ['nobody', 'kicking team', 'receiving team', 'both'], 'The kick', {
    kinds: ['punt', 'free kick', 'place kick'],
    when: ({ kickCrossed }) => kickCrossed !== false,
  }),
  yesNo('fairCatchSignal', 'Fair-catch signal', 'The kick', { kinds: returnable, when: cameDown }),
  yesNo('firstTouching', 'First touching', 'The kick', { kinds: returnable }),
  yesNo('onside', 'Onside kick', 'The kick', { kinds: ['free kick'] }),
  yesNo('momentum', 'Carried into the end zone by momentum', 'The kick', {
    kinds: ['punt', 'free kick', 'pass'],
    when: ({ kind, passResult, turnover }) =>
      kind !== 'pass' || passResult === 'intercepted' || turnover === 'interception',
  }),

  choice('looseBall', 'Loose ball', ['none', 'fumble', 'muff', 'blocked kick'], 'Loose ball', {
    kinds: putInPlay,
  }),
  yards('looseBallSpot', 'Came loose at', 'Loose ball', {
    hint: 'same count',
    kinds: putInPlay,
    when: wentLoose,
  }),
  choice('looseBallSide', 'Came loose on', lanes, 'Loose ball', { kinds: putInPlay, when: wentLoose }),
  choice('recoveredBy', 'Recovered by', ['offense', 'defense'], 'Loose ball', {
    kinds: putInPlay,
    when: wentLoose,
  }),
  yesNo('fumbleOrDown', 'Fumble or down, close', 'Loose ball', { kinds: putInPlay }),
  yesNo('pile', 'Pile', 'Loose ball', { kinds: putInPlay }),

  yesNo('drivenBack', 'Driven back', 'How it ended', { kinds: moving, when: notByKick }),
  yards('yardsFromSideline', 'Yards from sideline', 'How it ended', {
    max: 27,
    kinds: moving,
    when: (play) => notByKick(play) && ended(play) && play.outOfBounds !== true,
  }),
  yesNo('lineToGainInQuestion', 'Line to gain in question', 'How it ended', { kinds: scrimmage }),
  yesNo('measured', 'Measured', 'How it ended', { kinds: scrimmage }),
  choice('ruledBy', 'Ruled by', positions, 'How it ended', { kinds: putInPlay }),
  yesNo('rulingsDiffered', 'Rulings differed', 'How it ended', { kinds: putInPlay }),
  yesNo('inadvertentWhistle', 'Inadvertent whistle', 'How it ended'),
  choice('replay', 'Replay review', ['none', 'confirmed', 'stands', 'overturned'], 'How it ended'),

  {
    fact: 'clockAbout',
    label: 'Clock, about',
    hint: 'm:ss, an estimate',
    control: 'clock',
    group: 'The clock',
    when: ({ clockSeconds }) => clockSeconds === undefined,
  },
  choice('clockAfter', 'Clock after', ['running', 'stopped'], 'The clock'),
  choice('clockStoppedFor', 'Stopped for', clockStops, 'The clock'),
  choice('clockStoppedBy', 'Stopped by', positions, 'The clock', { when: clockStopped }),
  choice('clockStartsOn', 'Starts on', ['ready', 'snap'], 'The clock', { when: clockStopped }),
  yesNo('tenSecondRunoff', 'Ten-second runoff', 'The clock', { when: lateInAHalf }),
  choice('timeout', 'Time-out', ['none', 'team', 'official'], 'The clock'),
  choice('timeoutBy', 'Time-out of', ['offense', 'defense'], 'The clock', {
    when: ({ timeout }) => timeout === 'team',
  }),

  yesNo('helmetOff', 'Helmet off', 'After the play'),
  yesNo('helmetOffByFoul', 'Helmet off by a foul', 'After the play', {
    when: (play) => play.helmetOff === true,
  }),
  yesNo('injury', 'Injury', 'After the play'),
  yesNo('confrontation', 'Confrontation', 'After the play'),
  yesNo('coachDispute', 'Coach disputed', 'After the play'),
  yesNo('ejection', 'Disqualified', 'After the play'),
];

/** Is the fact one of this kind of play? */
export const isOfKind = ({ kinds }: PlayField, kind: PlayKind): boolean =>
  kinds === undefined || kinds.includes(kind);

/** The fields asked on this play: those that can matter, and whatever was logged, so that it can be taken away. */
export function fieldsFor(play: Play, group: PlayField['group']): PlayField[] {
  return playFields.filter(
    (field) =>
      field.group === group &&
      (play[field.fact] !== undefined || (isOfKind(field, play.kind) && (field.when?.(play) ?? true))),
  );
}

/** `m:ss` or `h:mm:ss`; empty when it is not known. */
export function clockText(seconds: number | null | undefined): string {
  return seconds === null || seconds === undefined ? '' : clockInWords(seconds);
}

/** Reads `m:ss`, `h:mm:ss` or plain seconds; undefined when it is none of them. */
export function secondsFrom(text: string): number | undefined {
  const parts = text.trim().split(':');
  if (parts.length === 0 || parts.length > 3 || parts.some((part) => !/^\d{1,5}$/.test(part)))
    return undefined;
  const numbers = parts.map(Number);
  if (numbers.slice(1).some((part) => part > 59)) return undefined;
  return numbers.reduce((total, part) => total * 60 + part, 0);
}

/**
 * Reads what was typed into a number or clock field.
 * @throws Error saying what to write instead.
 */
export function numberFrom(field: PlayField, text: string): number {
  if (field.control === 'clock') {
    const seconds = secondsFrom(text);
    if (seconds === undefined || seconds > 900) throw new Error('write m:ss up to 15:00, such as 7:42');
    return seconds;
  }
  const { min = 0, max = 100 } = field;
  const number = text.trim() === '' ? Number.NaN : Number(text);
  if (Number.isInteger(number) && number >= min && number <= max) return number;
  throw new Error(`write a whole number from ${String(min).replace('-', '−')} to ${max}`);
}
