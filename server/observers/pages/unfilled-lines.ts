import { inWords } from '../../planning/rules.ts';
import type { Relief } from '../../planning/unfilled.ts';
import type { PlanAnswer } from '../planner.ts';

export interface UnfilledLine {
  readonly lacking: number;
  readonly sentence: string;
  readonly ways: readonly { readonly text: string; readonly href: string }[];
}

function reliefInWords(relief: Relief, name: (id: string) => string): string {
  const cost = Math.round(relief.extraCost);
  const others =
    relief.otherChanges === 0
      ? ''
      : `, with ${relief.otherChanges} other ${relief.otherChanges === 1 ? 'assignment' : 'assignments'} changed`;
  const why = relief.broken.map((broken) => broken.why).join('; ');
  return `${name(relief.choice.observerId)} ${inWords(relief.choice.mode)} (${why}), at ${cost >= 0 ? `${cost} mi more` : `${-cost} mi less`}${others}`;
}

/** Why a game stays unfilled and what looking away from each rule would give, as sentences. */
export function unfilledLines(answer: PlanAnswer, name: (id: string) => string): Map<string, UnfilledLine> {
  const lines = new Map<string, UnfilledLine>();
  for (const { gameId, lacking, obstacles, together, explained } of answer.unfilled) {
    const href = (relief: Relief) =>
      `/observers/games/${gameId}/place?observer=${relief.choice.observerId}&how=${encodeURIComponent(relief.choice.mode)}`;
    const rules = obstacles.map(({ rule }) => rule);
    const sentence = !explained
      ? 'Nobody can be sent within the rules; there was no time left to find out which rules are in the way.'
      : rules.length === 0
        ? 'There are fewer observers than this game wants.'
        : `In the way: ${rules.join(' and ')}.`;
    const ways = obstacles.map(({ rule, relief }) => ({
      text: relief
        ? `Setting aside the ${rule}: ${reliefInWords(relief, name)}.`
        : `Setting aside the ${rule} alone would not fill the game.`,
      href: relief ? href(relief) : '',
    }));
    for (const relief of together)
      ways.push({
        text: `Setting aside ${relief.rules.join(' and ')} together: ${reliefInWords(relief, name)}.`,
        href: href(relief),
      });
    lines.set(gameId, { lacking, sentence, ways });
  }
  return lines;
}
