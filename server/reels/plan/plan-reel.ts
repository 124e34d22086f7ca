import type { EditionContent, EditionPlay } from '../../programs/edition.ts';
import type { CutOrLack } from '../../programs/stores/default-cuts.ts';
import type { Cut } from '../../timeline/cut.ts';
import {
  answerCard,
  cardFrames,
  closingCard,
  noFilmCard,
  questionCard,
  titleCard,
  topicCard,
  topicEndCard,
} from './play-cards.ts';
import type { ReelCard, ReelPlan, ReelSegment } from './reel-plan.ts';

/**
 * Everything that a reel shows, in order: title, topics, each play's film, the question before the answer, the answer,
 * and what to bear in mind at the end.
 *
 * @param edition null for a private preview
 * @param cutOf how each play is cut, by its number, or why it has no film
 */
export function planReel(
  content: EditionContent,
  edition: number | null,
  cutOf: (number: number) => CutOrLack,
): ReelPlan {
  const cuts = content.plays.map((play) => cutOf(play.number));
  const without = content.plays.filter((_, at) => 'lacking' in cuts[at]!).map(({ number }) => number);
  const stretches = topicStretches(content.plays);
  return {
    title: content.title,
    edition,
    segments: [
      onCard(titleCard(content, edition), { chapter: 'Opening' }),
      ...stretches.flatMap(({ topic, plays }) => {
        const end = topic === '' ? null : topicEndCard(topic, plays);
        return [
          ...plays.flatMap((play, at) =>
            withChapter(chapterOf(play), [
              ...(at === 0 && topic !== '' ? [onCard(topicCard(topic, plays.length))] : []),
              ...segmentsOf(play, cutOf(play.number)),
            ]),
          ),
          ...(end ? [onCard(end)] : []),
        ];
      }),
      onCard(closingCard(without), { chapter: 'Closing' }),
    ],
    plays: content.plays.map((play, at) => {
      const own = cuts[at]!;
      return {
        number: play.number,
        title: chapterOf(play),
        narration: play.narration,
        voice: 'cut' in own ? voiceOf(play, own.cut) : null,
        lacking: 'lacking' in own ? own.lacking : null,
      };
    }),
  };
}

/** A machine has nothing to read where nothing is written. */
const voiceOf = ({ narration }: EditionPlay, { voice }: Cut) =>
  voice?.kind === 'spoken' && narration === '' ? null : voice;

const chapterOf = ({ number, topic }: EditionPlay) => [`Play ${number}`, topic].filter(Boolean).join(', ');

/** Plays that stand together under one topic. */
function topicStretches(plays: readonly EditionPlay[]): { topic: string; plays: EditionPlay[] }[] {
  const stretches: { topic: string; plays: EditionPlay[] }[] = [];
  for (const play of plays) {
    const last = stretches.at(-1);
    if (last?.topic === play.topic) last.plays.push(play);
    else stretches.push({ topic: play.topic, plays: [play] });
  }
  return stretches;
}

function segmentsOf(play: EditionPlay, own: CutOrLack): ReelSegment[] {
  const question =
    play.question === '' ? [] : [onCard(questionCard(play), { play: play.number, stops: true })];
  const answer = answerCard(play);
  const answers = answer ? [onCard(answer, { play: play.number })] : [];
  if ('lacking' in own)
    return [onCard(noFilmCard(play, own.lacking), { play: play.number }), ...question, ...answers];
  const { shots, questionAfter } = own.cut;
  const shown = shots.map(
    (shot): ReelSegment => ({ kind: 'shot', shot, chapter: null, play: play.number, stops: false }),
  );
  const before = questionAfter ?? shown.length;
  return [...shown.slice(0, before), ...question, ...shown.slice(before), ...answers];
}

interface Placed {
  readonly chapter?: string;
  readonly play?: number;
  readonly stops?: boolean;
}
const onCard = (card: ReelCard, { chapter, play, stops = false }: Placed = {}): ReelSegment => ({
  kind: 'card',
  card,
  frames: cardFrames(card),
  chapter: chapter ?? null,
  play: play ?? null,
  stops,
});

/** The first of a play's segments begins its chapter. */
const withChapter = (chapter: string, segments: readonly ReelSegment[]): ReelSegment[] =>
  segments.map((segment, at) => (at === 0 ? { ...segment, chapter } : segment));
