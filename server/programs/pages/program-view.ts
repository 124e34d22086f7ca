import { playInWords } from '../../football/play-in-words.ts';
import { secondsOfCut } from '../../timeline/cut-length.ts';
import { readingFit } from '../../training/reading-time.ts';
import { clipSeconds } from '../../training/running-time.ts';
import { filmOfPlay } from '../film-of-play.ts';
import { type MeasuredProgram, secondsOf } from '../meters.ts';
import type { Program, ProgramPlay } from '../program.ts';
import type { KeptCut } from '../stores/cut-store.ts';
import { nameOf, type ProgramNames } from './program-names.ts';

export const showingTone = { good: 'good', bad: 'bad', 'to discuss': 'warn' } as const;

/** The plays of a program as its page lists them. */
export function playLines(
  program: Program,
  measured: MeasuredProgram,
  names: ProgramNames,
  cuts: ReadonlyMap<string, KeptCut>,
) {
  let starts = 0;
  return program.plays.map((play, at) => {
    const facts = measured.facts.get(play.playId);
    const seconds = secondsOf(play);
    const startsAt = starts;
    starts += seconds;
    const official = facts?.officials[play.position];
    return {
      ...play,
      place: at + 1,
      earlier: at,
      later: at + 2,
      isFirst: at === 0,
      isLast: at === program.plays.length - 1,
      beginsTopic: at === 0 || program.plays[at - 1]!.topic !== play.topic,
      startsAt,
      seconds,
      tone: showingTone[play.showing],
      official: official ? nameOf(names, official) : 'nobody entered',
      duty: play.dutyKey === null ? null : (names.duties.get(play.dutyKey)?.title ?? play.dutyKey),
      facts: facts && {
        ...facts,
        inWords: playInWords(facts.play),
        crew: facts.crew ?? 'no crew named',
        film: filmOfPlay(facts),
      },
      isCut: cuts.has(play.playId),
      waits: facts?.openReply ?? false,
      lacks: lacking(play),
      over: readingFit(play.narration, secondsOfFilm(play, cuts)).over,
    };
  });
}

/** Of the play's film: as it was cut, else as planned. */
const secondsOfFilm = (play: ProgramPlay, cuts: ReadonlyMap<string, KeptCut>): number => {
  const kept = cuts.get(play.playId);
  return kept ? secondsOfCut(kept.cut) : clipSeconds(play);
};

/** What nobody wrote yet on a play's card. */
export function lacking(play: ProgramPlay): string[] {
  return [
    play.answer === '' ? 'the answer of record' : '',
    play.answer !== '' && play.ruleCited === '' && play.mechanicCited === ''
      ? 'the rule or mechanic behind the answer'
      : '',
    play.firstKey === '' || play.secondKey === '' ? 'two key points' : '',
    play.narration === '' ? 'the narration' : '',
  ].filter((what) => what !== '');
}
