import { clockInWords } from './clock-words.ts';
import { foulsToText } from './fouls.ts';
import type { Fact, Play } from './play.ts';
import { yardLineInWords } from './yard-line-words.ts';

/** How each fact is named to people: on the entry page, in explanations, in the errors of an import. */
export const factNames: Readonly<Record<Fact, string>> = {
  kind: 'kind of play',
  spot: 'spot of the snap or kick',
  quarter: 'quarter',
  clockSeconds: 'game clock',
  clockAbout: 'game clock, about',
  down: 'down',
  distance: 'distance',
  offense: 'team with the ball',
  snapSide: 'side the ball was put in play on',
  strongSide: 'side with more receivers',
  shift: 'shift',
  snapFor: 'what the snap was for',
  hurryUp: 'hurry-up',
  offenseSubstituted: 'offense substituted',
  motion: 'motion',
  motionFrom: 'where the motion came from',
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
  looseBallSpot: 'where the ball came loose',
  looseBallSide: 'side where the ball came loose',
  recoveredBy: 'loose ball recovered by',
  fumbleOrDown: 'fumble or down in question',
  pile: 'pile on the ball',
  kickResult: 'kick',
  kickTo: 'where the kick came down',
  kickSide: 'side the kick came down on',
  kickCrossed: 'kick crossed the neutral zone',
  kickTouchedBy: 'kick touched by',
  fairCatchSignal: 'fair-catch signal',
  momentum: 'carried into the own end zone by momentum',
  onside: 'short kick on purpose',
  firstTouching: 'first touching by the kicking team',
  tryBy: 'try by',
  endSpot: 'dead-ball spot',
  endSide: 'side where the ball is dead',
  outOfBounds: 'out of bounds',
  endedBy: 'play ended by',
  yardsFromSideline: 'yards from the nearer sideline',
  ruledBy: 'ruled by',
  rulingsDiffered: 'rulings differed',
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
  ejection: 'disqualification',
  timeout: 'time-out',
  timeoutBy: 'whose time-out',
  clockAfter: 'game clock after the play',
  clockStoppedFor: 'what stopped the clock',
  clockStoppedBy: 'who stopped the clock',
  clockStartsOn: 'the clock starts on the',
  tenSecondRunoff: 'ten-second runoff in question',
  inadvertentWhistle: 'inadvertent whistle',
  replay: 'replay review',
};

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
    case 'looseBallSpot':
    case 'kickTo':
      return yardLineInWords(value as number);
    case 'catchDepth':
    case 'throwDepth':
      return fromNeutralZone(value as number);
    case 'clockSeconds':
    case 'clockAbout':
      return clockInWords(value as number);
    case 'fouls':
      return foulsToText(play.fouls!);
    default:
      return typeof value === 'boolean' ? (value ? 'yes' : 'no') : String(value);
  }
}
