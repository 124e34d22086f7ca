import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import Handlebars from 'handlebars';
import type { MessageText, Part } from './message-text.ts';

interface Around {
  readonly name: string;
  readonly conference: string;
  /** What links within the program begin with. */
  readonly address: string;
  /** Where mail is stopped or made fewer; null for what is mailed whatever its person chose. */
  readonly stop: string | null;
}

const layout = (file: string, noEscape: boolean) =>
  Handlebars.compile(
    readFileSync(fileURLToPath(new URL(`../../templates/messages/mail/${file}`, import.meta.url)), 'utf8'),
    { noEscape },
  );
const asText = layout('mail.txt.hbs', true);
const asHtml = layout('mail.html.hbs', false);

/** One mail of one message, or of a day's, as plain text and as HTML that say the same. */
export function mailForm(
  messages: readonly MessageText[],
  around: Around,
): { subject: string; text: string; html: string } {
  const several = messages.length > 1;
  const subject = several
    ? `${around.conference}: ${messages.length} messages`
    : (messages[0]?.subject ?? around.conference);
  const view = {
    ...around,
    subject,
    several,
    count: messages.length,
    messages: messages.map((message) => ({
      heading: several ? message.subject : null,
      parts: message.parts.map((part) => partView(part, around.address)),
    })),
  };
  return {
    subject,
    text: asText(view)
      .replace(/\n{3,}/g, '\n\n')
      .trim(),
    html: asHtml(view),
  };
}

const partView = (part: Part, address: string) => ({
  paragraph: 'paragraph' in part ? part.paragraph : null,
  rows: 'rows' in part ? part.rows : null,
  links:
    'links' in part
      ? part.links.map(({ label, url }, at) => ({
          label,
          url: url.startsWith('/') ? `${address}${url}` : url,
          first: at === 0,
        }))
      : null,
});
