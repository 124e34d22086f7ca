import { playInWords } from '../../football/play-in-words.ts';
import type { Recording } from '../../narration/recording.ts';
import type { CutVoice } from '../../timeline/cut.ts';
import { readingFit } from '../../training/reading-time.ts';
import { filmOfPlay } from '../film-of-play.ts';
import { filmSeconds, programSeconds } from '../film-seconds.ts';
import type { MeasuredProgram } from '../meters.ts';
import type { Program, ProgramPlay } from '../program.ts';
import { nameOf, type ProgramNames } from '../stores/program-names.ts';
import { voiceOfPlay } from './voice-view.ts';

export const showingTone = { good: 'good', bad: 'bad', 'to discuss': 'warn' } as const;

/** The plays of a program as its page lists them. */
export function playLines(
  program: Program,
  measured: MeasuredProgram,
  names: ProgramNames,
  recordings: ReadonlyMap<string, Recording>,
) {
  let starts = 0;
  return program.plays.map((play, at) => {
    const facts = measured.facts.get(play.playId);
    const kept = measured.cuts.get(play.playId);
    const seconds = programSeconds(play, kept);
    const startsAt = starts;
    starts += seconds;
    const official = facts?.officials[play.position];
    const voice = kept ? voiceOfPlay(kept.cut, play.question !== '', recordings) : null;
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
      isCut: kept !== undefined,
      voice,
      lacks: lacking(play, voice?.kind ?? null),
      // Of what somebody spoke it is known, of a text it is reckoned.
      over:
        voice?.kind === 'recorded' ? voice.over : readingFit(play.narration, filmSeconds(play, kept)).over,
    };
  });
}

/** What nobody wrote yet on a play's card. @param voice whose, of those of a cut */
function lacking(play: ProgramPlay, voice: CutVoice['kind'] | null): string[] {
  return [
    play.answer === '' ? 'the answer of record' : '',
    play.answer !== '' && play.ruleCited === '' && play.mechanicCited === ''
      ? 'the rule or mechanic behind the answer'
      : '',
    play.firstKey === '' || play.secondKey === '' ? 'two key points' : '',
    play.narration !== ''
      ? ''
      : voice === 'recorded'
        ? 'the text of what was recorded: without it the play has no captions'
        : 'the narration',
  ].filter((what) => what !== '');
}
