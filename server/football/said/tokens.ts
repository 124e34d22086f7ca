/** A piece of the line that cannot be divided: letters, a number, a clock or a sign. */
export interface Token {
  readonly from: number;
  readonly to: number;
  readonly text: string;
  readonly kind: 'word' | 'number' | 'clock' | 'sign';
}

// Letters and digits are parted where they touch: `l3` is left, 3. An ordinal stays whole: `2nd`.
const piece =
  /(\d{1,2}:\d{2})|(\d+(?:st|nd|rd|th)\b)|([-−+]?\d+(?=$|[^\d]))|(\p{L}+(?:['’-]\p{L}+)*)|([^\s\p{L}\d])/giu;

export function tokensOf(line: string): Token[] {
  return [...line.matchAll(piece)].map((match) => {
    const [text, clock, ordinal, number, word] = match;
    const kind = clock ? 'clock' : number ? 'number' : (word ?? ordinal) ? 'word' : 'sign';
    return { from: match.index, to: match.index + text.length, text, kind };
  });
}

/** Lower case, apostrophes and hyphens left out, so that `time-out` and `timeout` are one word. */
export const plain = (text: string) => text.toLowerCase().replace(/['’-]/g, '');
