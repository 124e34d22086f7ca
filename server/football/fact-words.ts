import { clockInWords } from './clock-words.ts';
import { foulsToText } from './fouls.ts';
import type { Fact, Play } from './play.ts';

/** How each fact is named to people: on the entry page, in explanations, in the errors of an import. */
export const factNames: Readonly<Record<Fact, string>> = {
  kind: 'kind of play',
  spot: 'spot of the snap or kick',
  quarter: 'quarter',
  clockSeconds: 'game clock',
  down: 'down',
  distance: 'distance',
  hurryUp: 'hurry-up',
  offenseSubstituted: 'offense substituted',
  motion: 'motion',
  playSide: 'side the play goes to',
  carrier: 'ball carrier',
  passResult: 'pass',
  catchDepth: 'catch, from the neutral zone',
  throwDepth: 'passer at release, from the neutral zone',
  quickPass: 'quick pass',
  pressure: 'passer under pressure',
  catchInQuestion: 'catch in question',
  backwardPass: 'backward pass',
  drivenBack: 'runner driven back',
  looseBall: 'loose ball',
  fumbleOrDown: 'fumble or down in question',
  pile: 'pile on the ball',
  kickResult: 'kick',
  onside: 'short kick on purpose',
  firstTouching: 'first touching by the kicking team',
  tryBy: 'try by',
  endSpot: 'dead-ball spot',
  endSide: 'side where the ball is dead',
  outOfBounds: 'out of bounds',
  endedBy: 'play ended by',
  lineToGainInQuestion: 'line to gain in question',
  measured: 'measured',
  score: 'score',
  turnover: 'turnover',
  fouls: 'fouls',
  helmetOff: 'helmet off',
  helmetOffByFoul: "helmet off by an opponent's foul",
  injury: 'injury',
  confrontation: 'confrontation',
  coachDispute: 'coach dispute',
  timeout: 'time-out',
  clockAfter: 'game clock after the play',
};

/** `own 35`, `midfield`, `opponent's 12`, `own goal line`. From the offense's own goal line, 0..100. */
export function yardLineInWords(yards: number): string {
  if (yards === 0) return 'own goal line';
  if (yards === 100) return "opponent's goal line";
  if (yards === 50) return 'midfield';
  return yards < 50 ? `own ${yards}` : `opponent's ${100 - yards}`;
}

function fromNeutralZone(yards: number): string {
  if (yards === 0) return 'at the neutral zone';
  const distance = Math.abs(yards);
  return `${distance} ${distance === 1 ? 'yard' : 'yards'} ${yards > 0 ? 'beyond' : 'behind'}`;
}

/** The value of a fact in words; `not logged` when it is unknown. */
export function factValueInWords(play: Play, fact: Fact): string {
  const value = play[fact];
  if (value === undefined) return 'not logged';
  switch (fact) {
    case 'spot':
    case 'endSpot':
      return yardLineInWords(value as number);
    case 'catchDepth':
    case 'throwDepth':
      return fromNeutralZone(value as number);
    case 'clockSeconds':
      return clockInWords(value as number);
    case 'fouls':
      return foulsToText(play.fouls!);
    default:
      return typeof value === 'boolean' ? (value ? 'yes' : 'no') : String(value);
  }
}
