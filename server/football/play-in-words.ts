import { clockInWords } from './clock-words.ts';
import { factNames, factValueInWords, yardLineInWords } from './fact-words.ts';
import { type Fact, facts, type Play } from './play.ts';

const ordinals = ['', '1st', '2nd', '3rd', '4th'];

/** `Q2 7:31, 2nd and 5 at own 40: run`, with what is known. */
export function playInWords(play: Play): string {
  const when = [
    play.quarter === undefined ? '' : play.quarter > 4 ? `overtime ${play.quarter - 4}` : `Q${play.quarter}`,
    play.clockSeconds === undefined ? '' : clockInWords(play.clockSeconds),
  ].filter((part) => part !== '');
  const down =
    play.down === undefined
      ? ''
      : `${ordinals[play.down]}${play.distance === undefined ? '' : ` and ${play.distance}`} `;
  const where = `${down}at ${yardLineInWords(play.spot)}: ${play.kind}`;
  return when.length === 0 ? where : `${when.join(' ')}, ${where}`;
}

/** Every fact that was logged, named and in words. */
export function loggedFacts(play: Play): { fact: Fact; name: string; value: string }[] {
  return facts
    .filter((fact) => play[fact] !== undefined)
    .map((fact) => ({ fact, name: factNames[fact], value: factValueInWords(play, fact) }));
}
