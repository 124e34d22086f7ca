import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import Handlebars from 'handlebars';
import { inWords } from '../planning/rules.ts';
import { day, moment } from '../web/format.ts';
import type { Kind } from './kinds.ts';

/**
 * A message in words, whatever shows it. In its template the first line is the subject; then paragraphs, apart by an
 * empty line. Lines that begin with `| ` are facts (`| Kickoff: ...`), with `-> ` links (`-> All your games: /my/games`).
 */
export interface MessageText {
  readonly subject: string;
  readonly parts: readonly Part[];
}
export type Part =
  | { readonly paragraph: string }
  | { readonly rows: readonly { readonly label: string; readonly value: string }[] }
  | { readonly links: readonly { readonly label: string; readonly url: string }[] };

const folder = fileURLToPath(new URL('../../templates/messages/', import.meta.url));

// Plain text: what shows it as HTML escapes it there.
const handlebars = Handlebars.create();
handlebars.registerHelper({
  moment: (value, zone) => moment(value, zone),
  day: (value, zone) => day(value, zone),
  way: (how) => inWords(how),
  equal: (one, other) => one === other,
  beyond: (one, other) => Number(one) > Number(other),
});

const templates = new Map(
  readdirSync(folder)
    .filter((file) => file.endsWith('.hbs'))
    .map((file) => [
      file.replace(/\.hbs$/, ''),
      handlebars.compile(readFileSync(`${folder}${file}`, 'utf8'), { noEscape: true }),
    ]),
);

/**
 * @param facts what the kind's template says, with `conference`, `timeZone`, `name`, `email` and `aboutId`; and
 *   `link` and the like where a mail holds what the desk does not
 */
export function messageText(kind: Kind, facts: Readonly<Record<string, unknown>>): MessageText {
  const template = templates.get(kind.replaceAll(' ', '-'));
  if (!template) throw new Error(`There is no template for a message of the kind "${kind}"`);
  const [subject = '', ...lines] = template(oneLined(facts)).trim().split('\n');
  const parts = lines
    .join('\n')
    .split(/\n\s*\n/)
    .map((block) => block.trim())
    .filter((block) => block !== '')
    .map(partOf);
  return { subject: subject.trim(), parts };
}

function partOf(block: string): Part {
  const lines = block.split('\n').map((line) => line.trim());
  if (lines.every((line) => line.startsWith('| ')))
    return { rows: lines.map((line) => apart(line.slice(2))).map(([label, value]) => ({ label, value })) };
  if (lines.every((line) => line.startsWith('-> ')))
    return { links: lines.map((line) => apart(line.slice(3))).map(([label, url]) => ({ label, url })) };
  return { paragraph: lines.join(' ') };
}

const apart = (line: string): [string, string] => {
  const at = line.indexOf(': ');
  return [line.slice(0, at), line.slice(at + 2)];
};

/** What somebody typed on several lines goes into one, so that no line of theirs is taken for the template's. */
function oneLined(facts: object): object {
  return Object.fromEntries(
    Object.entries(facts).map(([name, value]) => [
      name,
      typeof value === 'string'
        ? value.replace(/\s+/g, ' ').trim()
        : value !== null && typeof value === 'object' && !(value instanceof Date)
          ? oneLined(value)
          : value,
    ]),
  );
}
