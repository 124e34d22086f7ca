import type { LetterDocument } from './document.ts';
import { oneLine } from './escape-markdown.ts';
import { chartsOfLetter } from './letter-charts.ts';
import { type LetterData, letterDataSchema } from './letter-data.ts';
import { markdownToBlocks } from './markdown.ts';
import { type RenderedPdf, renderPdf } from './pdf/render.ts';
import type { Paper } from './pdf/style.ts';
import { compileTemplate, type LetterTemplate } from './template.ts';
import { formatDate } from './wording.ts';

export interface RenderOptions {
  paper?: Paper;
}

/**
 * One official's letter as a PDF.
 * @param data checked against `letterDataSchema`; a ZodError names the field that is wrong
 * @param template the conference's template text, or one compiled before (a batch compiles once)
 */
export async function renderLetter(
  data: LetterData,
  template: string | LetterTemplate,
  { paper = 'Letter' }: RenderOptions = {},
): Promise<RenderedPdf> {
  return renderPdf(letterDocument(letterDataSchema.parse(data), template), { paper });
}

/** The letter's document tree: masthead from the data, body from the template. */
export function letterDocument(data: LetterData, template: string | LetterTemplate): LetterDocument {
  const write = typeof template === 'string' ? compileTemplate(template) : template;
  const name = oneLine(data.official.name);
  const kind = data.kind === 'mid-season' ? 'Mid-season evaluation' : 'End-of-season evaluation';
  const crew = data.official.crew ? ` · ${oneLine(data.official.crew)}` : '';
  const edition = data.edition > 1 ? ` · Edition ${data.edition}` : '';
  const season = oneLine(data.season.name);
  return {
    title: `${kind}: ${name}, ${season}`,
    author: oneLine(data.conference.name),
    subject: `${kind} of ${name} as ${data.official.position}`,
    language: 'en-US',
    footer: `${name} · ${kind}, ${season}`,
    issuedAt: new Date(`${data.issuedOn}T00:00:00Z`),
    blocks: [
      {
        kind: 'masthead',
        over: [{ text: `${oneLine(data.conference.name)} · ${kind}` }],
        title: [{ text: name }],
        under: [
          {
            text: `${capital(data.official.position)}${crew} · ${season} · ${formatDate(data.issuedOn)}${edition}`,
          },
        ],
      },
      ...markdownToBlocks(write(data), chartsOfLetter(data)),
    ],
  };
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
