import { clockInWords } from './clock-words.ts';
import { factNames, factValueInWords } from './fact-words.ts';
import { type Fact, facts, type Play } from './play.ts';
import { yardLineInWords } from './yard-line-words.ts';

export const downOrdinals = ['', '1st', '2nd', '3rd', '4th'];

/** Does the line to gain lie on the goal line, so that nobody can make a first down short of it? */
const isGoalToGo = ({ spot, distance }: Pick<Play, 'spot' | 'distance'>): boolean =>
  distance !== undefined && spot + distance >= 100;

/** `2nd and 7 at own 34`, `1st and goal at opponent's 3`, or what is known of it. */
export function downInWords(play: Play): string {
  const where = yardLineInWords(play.spot);
  if (play.down === undefined) return where;
  const toGo = play.distance === undefined ? '' : ` and ${isGoalToGo(play) ? 'goal' : play.distance}`;
  return `${downOrdinals[play.down]}${toGo} at ${where}`;
}

/** `run`, or what the snap was for when it was not for a play: `kneel-down`, `spike`. */
export function kindInWords({ kind, snapFor }: Play): string {
  if (snapFor === 'kneel') return 'kneel-down';
  return snapFor === 'spike' ? 'spike' : kind;
}

/** `Q2 7:31, 2nd and 5 at own 40: run`, with what is known. */
export function playInWords(play: Play): string {
  const when = [
    play.quarter === undefined ? '' : play.quarter > 4 ? `overtime ${play.quarter - 4}` : `Q${play.quarter}`,
    clockOf(play),
  ].filter((part) => part !== '');
  const where = `${play.down === undefined ? 'at ' : ''}${downInWords(play)}: ${kindInWords(play)}`;
  return when.length === 0 ? where : `${when.join(' ')}, ${where}`;
}

const clockOf = ({ clockSeconds, clockAbout }: Play): string =>
  clockSeconds !== undefined
    ? clockInWords(clockSeconds)
    : clockAbout === undefined
      ? ''
      : `about ${clockInWords(clockAbout)}`;

/** What came of the play in a few words; empty when nothing is logged yet. */
export function resultInWords(play: Play): string {
  const parts: string[] = [];
  if (play.passResult && play.snapFor !== 'spike') parts.push(play.passResult);
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
  if (play.ruledBy && rulingMattered(play)) parts.push(`ruled by the ${play.ruledBy}`);
  for (const foul of play.fouls ?? []) {
    parts.push(foul.outcome === 'picked up' ? `flag for ${foul.foul} picked up` : foul.foul);
  }
  if (play.inadvertentWhistle) parts.push('inadvertent whistle');
  if (play.replay === 'overturned') parts.push('overturned on review');
  return parts.join(', ');
}

const rulingMattered = (play: Play): boolean =>
  play.score === 'touchdown' ||
  play.score === 'safety' ||
  play.rulingsDiffered === true ||
  play.catchInQuestion === true ||
  play.fumbleOrDown === true;

/** Every fact that was logged, named and in words. */
export function loggedFacts(play: Play): { fact: Fact; name: string; value: string }[] {
  return facts
    .filter((fact) => play[fact] !== undefined)
    .map((fact) => ({ fact, name: factNames[fact], value: factValueInWords(play, fact) }));
}
