import { invalid } from '../../web/problem.ts';

/** The longest reason, and the longest note, of a committee. */
export const longestReason = 2000;
export const longestNote = 4000;

/**
 * What somebody typed, without blanks at its ends and with the line ends that a browser counts.
 * @throws Problem 400 naming the field where it is longer than can be kept: nothing is cut
 */
export function wordsTyped(text: string, field: string, most: number, what: string): string {
  const words = text.replaceAll('\r\n', '\n').trim();
  if (words.length > most)
    throw invalid([
      { field, message: `${what} has ${words.length} characters; shorten it to ${most} at most` },
    ]);
  return words;
}
