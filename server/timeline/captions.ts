import { type Cue, placed } from './cue.ts';
import { framesIn } from './frames.ts';

/** What is read at one time: one or two lines, from one frame of the reel up to another. */
export interface Caption {
  from: number;
  to: number;
  lines: string[];
}

/** Two lines of 37 characters and 160 words a minute (BBC subtitle guidelines, values from memory). */
const longestLine = 37;
const mostLines = 2;
const wordsAMinute = 160;

/** Seconds that a caption with this text stands, for whom reads while watching: longer than it takes to say it. */
const standingSeconds = (text: string): number => (60 * wordsOf(text).length) / wordsAMinute;

const wordsOf = (text: string): string[] => text.split(/\s+/).filter(Boolean);

/**
 * Narration as captions. Each stands for its own share of the words; where a text takes longer than its play is shown, all
 * of them are shortened alike, so that none reaches into the next play (who writes the text is told before).
 *
 * @throws RangeError as `placed`.
 */
export function captionsOf(cues: readonly Cue[]): Caption[] {
  return placed(cues).flatMap(({ start, frames, narration }) => {
    const blocks = blocksOf(narration);
    const words = blocks.map((lines) => wordsOf(lines.join(' ')).length);
    const all = words.reduce((sum, count) => sum + count, 0);
    // No caption without a frame of its own.
    if (all === 0 || frames < blocks.length) return [];
    const whole = Math.min(frames, Math.max(blocks.length, framesIn(standingSeconds(narration))));
    let before = 0;
    let from = start;
    return blocks.map((lines, at): Caption => {
      before += words[at]!;
      const left = blocks.length - at - 1;
      const to = Math.min(
        start + whole - left,
        Math.max(from + 1, start + Math.round((whole * before) / all)),
      );
      const caption = { from, to, lines };
      from = to;
      return caption;
    });
  });
}

/** Lines of at most 37 characters, two at a time; a word that is longer has a line of its own. */
function blocksOf(text: string): string[][] {
  const lines: string[] = [];
  for (const word of wordsOf(text)) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= longestLine)
      lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  const blocks: string[][] = [];
  for (let at = 0; at < lines.length; at += mostLines) blocks.push(lines.slice(at, at + mostLines));
  return blocks;
}
