/**
 * Field values are data, not markup: a comment that reads `# Heading`, `[x](http://…)` or `<b>` must print
 * as those very characters. CommonMark lets every ASCII punctuation character be escaped with a backslash
 * (CommonMark 0.31, section 2.4, "Backslash escapes"), and a value is kept on one line, so that it can't start a block.
 */
export function escapeMarkdown(value: string): string {
  return oneLine(value).replace(/[!-/:-@[-`{-~]/g, '\\$&');
}

/** Composed form, no control or direction-override characters, each run of white space one space. */
export function oneLine(value: string): string {
  return (
    value
      .normalize('NFC')
      .replace(/\s+/gu, ' ')
      // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what must go
      .replace(/[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\uffff]/g, '')
      .replace(/\p{Cs}/gu, '\ufffd')
      .trim()
  );
}

/** Text that is Markdown already and isn't escaped again. Only helpers in `wording.ts` make it. */
export class Markdown {
  readonly source: string;
  constructor(source: string) {
    this.source = source;
  }
}

/** A link whose address is http, https or mailto; any other address leaves only the text. */
export function markdownLink(text: string, address: string | null | undefined): Markdown {
  const safe = safeAddress(address);
  const label = escapeMarkdown(text);
  return new Markdown(safe && label ? `[${label}](<${safe}>)` : label);
}

/** The address if a letter may link to it, made plain ASCII; else null. */
export function safeAddress(address: string | null | undefined): string | null {
  if (!address || !URL.canParse(address)) return null;
  const url = new URL(address);
  if (!['http:', 'https:', 'mailto:'].includes(url.protocol)) return null;
  return url.href.replace(/[<>\\\s()]/g, (character) =>
    encodeURIComponent(character).replace('(', '%28').replace(')', '%29'),
  );
}
