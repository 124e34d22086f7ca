import { clockInWords } from '../../football/clock-words.ts';
import { yardLineInWords } from '../../football/fact-words.ts';
import { type Fact, type Play, type PlayKind, playKinds } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { lanes } from '../../football/sides.ts';

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
  /** `start` and `result` are always in sight; `more` opens on request. */
  readonly group: 'start' | 'result' | 'more';
};

const scrimmage: readonly PlayKind[] = ['run', 'pass', 'punt', 'place kick', 'try', 'no snap'];
const kicks: readonly PlayKind[] = ['punt', 'free kick', 'place kick', 'try'];
const moving: readonly PlayKind[] = ['run', 'pass', 'punt', 'free kick', 'try'];
const passing: readonly PlayKind[] = ['pass', 'try'];

export const playFields: readonly PlayField[] = [
  { fact: 'kind', label: 'Kind', control: 'choice', options: playKinds, group: 'start' },
  { fact: 'quarter', label: 'Quarter', control: 'number', min: 1, max: 12, group: 'start' },
  { fact: 'clockSeconds', label: 'Clock', hint: 'm:ss', control: 'clock', group: 'start' },
  { fact: 'down', label: 'Down', control: 'number', min: 1, max: 4, kinds: scrimmage, group: 'start' },
  { fact: 'distance', label: 'To go', control: 'number', min: 1, max: 99, kinds: scrimmage, group: 'start' },
  {
    fact: 'spot',
    label: 'Spot',
    hint: 'yards from the offense’s goal line',
    control: 'number',
    min: 0,
    max: 100,
    group: 'start',
  },
  {
    fact: 'passResult',
    label: 'Pass',
    control: 'choice',
    options: ['complete', 'incomplete', 'intercepted', 'sack', 'scramble'],
    kinds: passing,
    group: 'result',
  },
  {
    fact: 'catchDepth',
    label: 'Caught at',
    hint: 'yards beyond the line',
    control: 'number',
    min: -50,
    max: 100,
    kinds: passing,
    group: 'result',
  },
  {
    fact: 'carrier',
    label: 'Carrier',
    control: 'choice',
    options: ['quarterback', 'other'],
    kinds: ['run', 'try'],
    group: 'result',
  },
  {
    fact: 'kickResult',
    label: 'Kick',
    control: 'choice',
    options: ['returned', 'fair catch', 'touchback', 'downed', 'out of bounds', 'blocked', 'good', 'no good'],
    kinds: kicks,
    group: 'result',
  },
  {
    fact: 'tryBy',
    label: 'Try by',
    control: 'choice',
    options: ['kick', 'run', 'pass'],
    kinds: ['try'],
    group: 'result',
  },
  { fact: 'playSide', label: 'Went to', control: 'choice', options: lanes, kinds: moving, group: 'result' },
  {
    fact: 'endSpot',
    label: 'Dead at',
    hint: 'same count',
    control: 'number',
    min: 0,
    max: 100,
    group: 'result',
  },
  { fact: 'endSide', label: 'Dead on', control: 'choice', options: lanes, kinds: moving, group: 'result' },
  { fact: 'outOfBounds', label: 'Out of bounds', control: 'yes-no', kinds: moving, group: 'result' },
  {
    fact: 'score',
    label: 'Score',
    control: 'choice',
    options: ['none', 'touchdown', 'field goal', 'safety', 'try good'],
    group: 'result',
  },
  {
    fact: 'turnover',
    label: 'Turnover',
    control: 'choice',
    options: ['none', 'interception', 'fumble', 'downs'],
    kinds: ['run', 'pass', 'punt', 'free kick'],
    group: 'result',
  },
  {
    fact: 'fouls',
    label: 'Fouls',
    hint: 'holding / offense / umpire / accepted; or none',
    control: 'fouls',
    group: 'result',
  },
  { fact: 'endedBy', label: 'Ended by', control: 'choice', options: positions, group: 'more' },
  {
    fact: 'clockAfter',
    label: 'Clock after',
    control: 'choice',
    options: ['running', 'stopped'],
    group: 'more',
  },
  {
    fact: 'lineToGainInQuestion',
    label: 'Line to gain in question',
    control: 'yes-no',
    kinds: scrimmage,
    group: 'more',
  },
  { fact: 'measured', label: 'Measured', control: 'yes-no', kinds: scrimmage, group: 'more' },
  {
    fact: 'looseBall',
    label: 'Loose ball',
    control: 'choice',
    options: ['none', 'fumble', 'muff', 'blocked kick'],
    group: 'more',
  },
  { fact: 'fumbleOrDown', label: 'Fumble or down, close', control: 'yes-no', group: 'more' },
  { fact: 'pile', label: 'Pile', control: 'yes-no', group: 'more' },
  { fact: 'catchInQuestion', label: 'Catch in question', control: 'yes-no', kinds: passing, group: 'more' },
  {
    fact: 'throwDepth',
    label: 'Passer’s foot',
    hint: 'yards beyond the line',
    control: 'number',
    min: -50,
    max: 100,
    kinds: passing,
    group: 'more',
  },
  { fact: 'quickPass', label: 'Quick pass', control: 'yes-no', kinds: passing, group: 'more' },
  {
    fact: 'backwardPass',
    label: 'Backward pass',
    control: 'yes-no',
    kinds: ['run', 'pass', 'try'],
    group: 'more',
  },
  { fact: 'pressure', label: 'Pressure on the passer', control: 'yes-no', kinds: passing, group: 'more' },
  { fact: 'drivenBack', label: 'Driven back', control: 'yes-no', kinds: moving, group: 'more' },
  { fact: 'onside', label: 'Onside kick', control: 'yes-no', kinds: ['free kick'], group: 'more' },
  {
    fact: 'firstTouching',
    label: 'First touching',
    control: 'yes-no',
    kinds: ['punt', 'free kick'],
    group: 'more',
  },
  {
    fact: 'motion',
    label: 'Motion to',
    control: 'choice',
    options: ['none', ...lanes],
    kinds: scrimmage,
    group: 'more',
  },
  { fact: 'hurryUp', label: 'Hurry-up', control: 'yes-no', kinds: scrimmage, group: 'more' },
  {
    fact: 'offenseSubstituted',
    label: 'Offense substituted',
    control: 'yes-no',
    kinds: scrimmage,
    group: 'more',
  },
  { fact: 'helmetOff', label: 'Helmet off', control: 'yes-no', group: 'more' },
  { fact: 'helmetOffByFoul', label: 'Helmet off by a foul', control: 'yes-no', group: 'more' },
  { fact: 'injury', label: 'Injury', control: 'yes-no', group: 'more' },
  { fact: 'confrontation', label: 'Confrontation', control: 'yes-no', group: 'more' },
  { fact: 'coachDispute', label: 'Coach disputed', control: 'yes-no', group: 'more' },
  {
    fact: 'timeout',
    label: 'Time-out',
    control: 'choice',
    options: ['none', 'team', 'official'],
    group: 'more',
  },
];

/** The fields asked for this kind of play. */
export function fieldsFor(kind: PlayKind, group: PlayField['group']): PlayField[] {
  return playFields.filter(
    (field) => field.group === group && (field.kinds === undefined || field.kinds.includes(kind)),
  );
}

const ordinals = ['', '1st', '2nd', '3rd', '4th'];

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

/** `2nd and 7 at own 34`, or what is known of it. */
export function downText(play: Play): string {
  const parts: string[] = [];
  if (play.down)
    parts.push(play.distance ? `${ordinals[play.down]} and ${play.distance}` : ordinals[play.down]!);
  parts.push(`${parts.length > 0 ? 'at ' : ''}${yardLineInWords(play.spot)}`);
  return parts.join(' ');
}

/** What came of the play in a few words; empty when nothing is logged yet. */
export function resultText(play: Play): string {
  const parts: string[] = [];
  if (play.passResult) parts.push(play.passResult);
  if (play.kickResult) parts.push(play.kickResult);
  if (play.score && play.score !== 'none') parts.push(play.score);
  else if (play.turnover && play.turnover !== 'none') parts.push(play.turnover);
  else if (play.endSpot !== undefined && play.passResult !== 'incomplete') {
    const gain = play.endSpot - play.spot;
    if (play.kind === 'run' || play.kind === 'pass') {
      parts.push(gain === 0 ? 'no gain' : gain > 0 ? `+${gain}` : `−${-gain}`);
    }
  }
  if (play.outOfBounds) parts.push('out of bounds');
  if (play.fouls && play.fouls.length > 0) parts.push(play.fouls.map((foul) => foul.foul).join(', '));
  return parts.join(', ');
}
