import type { EditionContent, EditionPlay } from '../../programs/edition.ts';
import { framesIn } from '../../timeline/frames.ts';
import { readingSeconds } from '../../training/reading-time.ts';
import type { ReelCard } from './reel-plan.ts';

type Line = ReelCard['lines'][number];
const plain = (text: string): Line => ({ text, tone: 'plain' });
const soft = (text: string): Line => ({ text, tone: 'soft' });
const point = (text: string): Line => ({ text, tone: 'point' });
const written = (lines: readonly Line[]) => lines.filter(({ text }) => text !== '');

export function titleCard({ title, goal, audience, code }: EditionContent, edition: number | null): ReelCard {
  return {
    kind: 'title',
    above: edition === null ? 'Private preview, for the coordinator alone' : `Edition ${edition}`,
    heading: title,
    lines: [plain(goal), soft(`For ${audience} · ${code} rules`)],
    foot: 'A training aid.',
  };
}

export const topicCard = (topic: string, plays: number): ReelCard => ({
  kind: 'topic',
  above: 'Topic',
  heading: topic,
  lines: [soft(plays === 1 ? 'One play' : `${plays} plays`)],
  foot: '',
});

const mostPoints = 6;

/** What a topic comes to: its plays' key points, each once; null where there are none. */
export function topicEndCard(topic: string, plays: readonly EditionPlay[]): ReelCard | null {
  const keys = [...new Set(plays.flatMap((play) => play.keys))].slice(0, mostPoints);
  if (keys.length === 0 || plays.length < 2) return null;
  return { kind: 'topic end', above: 'To take along', heading: topic, lines: keys.map(point), foot: '' };
}

export const questionCard = (play: EditionPlay): ReelCard => ({
  kind: 'question',
  above: `Play ${play.number}: the question`,
  heading: play.question,
  lines: play.choices.map(({ text }, at) => ({ text: `${'ABCDE'[at]}. ${text}`, tone: 'choice' })),
  foot: 'Answer before the reel goes on.',
});

/** The answer of record with its source; null where none was written, nor any key point. */
export function answerCard(play: EditionPlay): ReelCard | null {
  if (play.answer === '' && play.keys.length === 0) return null;
  const cited = [play.ruleCited, play.mechanicCited].filter(Boolean).join(' · ');
  return {
    kind: 'answer',
    above: `Play ${play.number}: ${play.answer === '' ? 'key points' : 'answer of record'}`,
    heading: play.situation,
    lines: written([
      plain(play.answer),
      soft(play.twoMechanics ? 'Two ways of doing it are acceptable.' : ''),
      ...play.keys.map(point),
      soft(cited),
    ]),
    foot: play.answer === '' ? '' : `Answer of record${play.answeredOn ? ` of ${play.answeredOn}` : ''}`,
  };
}

export const noFilmCard = (play: EditionPlay, lacking: string): ReelCard => ({
  kind: 'no film',
  above: `Play ${play.number}: without film`,
  heading: play.situation,
  lines: written([plain(play.result), soft(lacking), plain(play.narration)]),
  foot: `Watch the ${play.position}${play.duty ? `: ${play.duty.title}` : ''}`,
});

export const closingCard = (withoutFilm: readonly number[]): ReelCard => ({
  kind: 'closing',
  above: '',
  heading: 'A training aid',
  lines: [
    plain(
      'The conference’s policy, the current rules book and the officials’ manual hold. Safety of players and officials comes first in every mechanic.',
    ),
    plain(
      'The film belongs to whoever made it. Show it only to the audience it was released for; do not copy it or pass it on.',
    ),
    ...(withoutFilm.length === 0
      ? []
      : [
          soft(
            `Shown without film: ${withoutFilm.length === 1 ? 'play' : 'plays'} ${new Intl.ListFormat('en-US').format(withoutFilm.map(String))}.`,
          ),
        ]),
  ],
  foot: '',
});

const leastSeconds = 3;
const mostSeconds = 25;

/** Long enough to be read once: as read aloud, and a second to look up. */
export function cardFrames({ above, heading, lines, foot }: ReelCard): number {
  const text = [above, heading, ...lines.map((line) => line.text), foot].join('. ');
  return framesIn(Math.min(mostSeconds, Math.max(leastSeconds, readingSeconds(text) + 1)));
}
