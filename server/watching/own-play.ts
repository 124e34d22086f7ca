import type { EditionPlay } from '../programs/edition.ts';
import type { KeptAnswer, Watching } from './stores/viewer-store.ts';
import { isAsked } from './stores/viewer-store.ts';

/**
 * A play as one of its audience sees it: of a play with a question neither the answer of record nor which choice is right
 * before they answered.
 */
export function ownPlay(
  play: EditionPlay,
  answers: readonly KeptAnswer[],
  names: ReadonlyMap<number, string> = new Map(),
) {
  const kept = answers.find(({ playNumber }) => playNumber === play.number) ?? null;
  const isOpen = isAsked(play) && kept === null;
  return {
    number: play.number,
    topic: play.topic,
    position: play.position,
    situation: play.situation,
    result: play.result,
    official: names.get(play.number) ?? null,
    question: play.question,
    choices: play.choices.map(({ text, right }, at) => ({
      text,
      isAcceptable: isOpen ? null : right,
      isYours: kept?.choice === at,
    })),
    isOpen,
    answered: kept && { choice: kept.choice, isRight: kept.isRight, how: kept.how },
    told: isOpen ? null : toldOf(play),
  };
}

const toldOf = (play: EditionPlay) => ({
  showing: play.showing,
  duty: play.duty?.title ?? null,
  guidance: play.duty?.guidance ?? '',
  answer: play.answer,
  answeredOn: play.answeredOn,
  ruleCited: play.ruleCited,
  mechanicCited: play.mechanicCited,
  twoMechanics: play.twoMechanics,
  keys: play.keys,
  narration: play.narration,
});

/** A play is behind whom it asks nothing any more and who went through it. */
export const nextPlay = ({ content, through }: Pick<Watching, 'content' | 'through'>): number | null =>
  content.plays.find(({ number }) => !through.includes(number))?.number ?? null;
