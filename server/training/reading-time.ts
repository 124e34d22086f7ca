/**
 * Words a minute of English read aloud, the mean of 77 studies: Brysbaert, M. (2019), "How many words do we read per
 * minute? A review and meta-analysis of reading rate", Journal of Memory and Language 109, 104047.
 */
export const wordsPerMinute = 183;

const segmenter = new Intl.Segmenter('en', { granularity: 'word' });

/** Words as they are spoken: by the word boundaries of Unicode (UAX 29), punctuation not counted. */
export function wordsIn(text: string): number {
  let words = 0;
  for (const { isWordLike } of segmenter.segment(text)) if (isWordLike) words += 1;
  return words;
}

/** Seconds that reading the text aloud takes, rounded up to the next tenth. */
export const readingSeconds = (text: string): number =>
  Math.ceil((wordsIn(text) / wordsPerMinute) * 600) / 10;

export interface ReadingFit {
  readonly words: number;
  readonly readingSeconds: number;
  readonly clipSeconds: number;
  /** Seconds that the text takes beyond the clip; 0 where it fits. */
  readonly over: number;
  /** How many words would have to go for it to fit. */
  readonly wordsTooMany: number;
}

/** The narration held against its clip. @param clipSeconds as it runs, freezes included */
export function readingFit(text: string, clipSeconds: number): ReadingFit {
  const words = wordsIn(text);
  const seconds = readingSeconds(text);
  const fitting = Math.floor((clipSeconds * wordsPerMinute) / 60);
  return {
    words,
    readingSeconds: seconds,
    clipSeconds,
    over: Math.max(0, Math.round((seconds - clipSeconds) * 10) / 10),
    wordsTooMany: Math.max(0, words - fitting),
  };
}

const counted = (count: number, one: string) => `${count} ${one}${count === 1 ? '' : 's'}`;

/** The same as the card says it, while one writes and when it is sent. */
export function fitInWords({
  words,
  readingSeconds: aloud,
  clipSeconds,
  over,
  wordsTooMany,
}: ReadingFit): string {
  const clip = `clip is ${counted(clipSeconds, 'second')} long.`;
  if (words === 0) return `The ${clip}`;
  const said = `${counted(words, 'word')}, ${counted(aloud, 'second')} aloud; the ${clip}`;
  return over > 0
    ? `${said} ${counted(over, 'second')} too long: leave out ${counted(wordsTooMany, 'word')}, or show more of the play.`
    : said;
}
