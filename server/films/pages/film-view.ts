import { clockInWords } from '../../football/clock-words.ts';
import { filmNotes } from '../film-facts.ts';
import type { Film } from '../film-store.ts';
import type { Mark } from '../placing.ts';
import { checkMarks } from '../placing-words.ts';

/** Bytes as people read them, in the units that disks are sold by. */
export function bytesInWords(bytes: number): string {
  const [size, unit] =
    bytes >= 1e9 ? [bytes / 1e9, 'GB'] : bytes >= 1e6 ? [bytes / 1e6, 'MB'] : [bytes / 1e3, 'kB'];
  return `${size < 10 ? size.toFixed(1) : Math.round(size).toLocaleString('en-US')} ${unit}`;
}

const stateWords = {
  arriving: 'arriving',
  waiting: 'being looked at',
  ready: 'can be watched',
  refused: 'refused',
};
const tones = { arriving: '', waiting: '', ready: 'good', refused: 'bad' };

/** A film as the list of a game's films shows it. */
export function filmView(film: Film, marks: readonly Mark[], arrived: number) {
  const { facts, source, place, fileName } = film;
  return {
    ...film,
    stateWords: stateWords[film.state],
    tone: tones[film.state],
    from:
      source === 'link'
        ? `at ${new URL(place!).host}`
        : source === 'folder'
          ? `of the server’s folder: ${place}`
          : `uploaded${fileName ? `: ${fileName}` : ''}`,
    about:
      facts &&
      [
        clockInWords(facts.seconds),
        `${facts.width} by ${facts.height}`,
        `${facts.rate.toFixed(2)} frames a second`,
        facts.picture,
      ].join(', '),
    notes: facts ? filmNotes(facts) : [],
    isArriving: film.state === 'arriving',
    isWaiting: film.state === 'waiting',
    isReady: film.state === 'ready',
    part: Math.round((film.state === 'arriving' ? arrived / film.bytes : film.progress) * 100),
    size: film.kept > 0 ? bytesInWords(film.kept) : null,
    arrived: bytesInWords(arrived),
    whole: bytesInWords(film.bytes),
    check: checkMarks(marks),
    marked: marks.map(({ playId, number, seconds }) => ({ playId, number, seconds })),
  };
}
