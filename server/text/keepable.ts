/**
 * What no text here can hold: NUL, which the database cannot keep; halves of surrogate pairs, which are no characters;
 * and the other control characters, which print as nothing. Tabs and every kind of line break are text.
 */
// biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters that are refused
const unkeepable = /[\0-\x08\x0e-\x1f\x7f\p{Surrogate}]/u;

/** What is wrong with the characters of a text, as the end of a sentence about it; null when nothing is. */
export function textFault(text: string): string | null {
  const found = unkeepable.exec(text);
  if (!found) return null;
  return `has a character that cannot be kept (number ${[...text.slice(0, found.index)].length + 1}); delete it there`;
}

/** The text without what cannot be kept. */
export const keepable = (text: string): string => text.replace(new RegExp(unkeepable, 'gu'), '');
