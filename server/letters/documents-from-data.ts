import { dayInWords } from '../text/days.ts';
import type { Block, Inline, LetterDocument } from './document-tree.ts';
import { oneLine } from './escape-markdown.ts';
import { kindTitles } from './kind-titles.ts';
import type { GameReportData, LetterData, SeasonBookData } from './letter-data.ts';
import { markdownToBlocks } from './markdown.ts';
import { plotsOfLetter, plotsOfSeasonBook } from './plots.ts';
import { compileTemplate, type LetterTemplate } from './template.ts';

/** From data and template to a document tree: masthead, title and footer from the data, body from the template. */
type Template = string | LetterTemplate;

const written = (template: Template, data: object): string =>
  (typeof template === 'string' ? compileTemplate(template) : template)(data);

export function letterDocument(data: LetterData, template: Template): LetterDocument {
  const name = oneLine(data.official.name);
  const kind = kindTitles[data.kind];
  const season = oneLine(data.season.name);
  return {
    ...frame(data, `${kind}: ${name}, ${season}`),
    subject: `${kind} of ${name} as ${data.official.position}`,
    footer: `${name} · ${kind}, ${season}`,
    blocks: [
      masthead([oneLine(data.conference.name), kind], name, [
        capital(data.official.position),
        data.official.crew && oneLine(data.official.crew),
        season,
        dayInWords(data.issuedOn),
        data.edition > 1 && `Edition ${data.edition}`,
      ]),
      ...markdownToBlocks(written(template, data), plotsOfLetter(data)),
    ],
  };
}

export function gameReportDocument(data: GameReportData, template: Template): LetterDocument {
  const name = oneLine(data.official.name);
  const game = oneLine(data.game.title);
  return {
    ...frame(data, `Game report: ${name}, ${game}`),
    subject: `Week ${data.game.week}, ${game}: ${name} as ${data.official.position}`,
    footer: `${name} · ${game}, week ${data.game.week}`,
    blocks: [
      masthead([oneLine(data.conference.name), kindTitles['game-report']], game, [
        `${name}, ${data.official.position}`,
        `Week ${data.game.week}`,
        data.game.date && dayInWords(data.game.date),
        data.game.revision > 1 && `Revision ${data.game.revision}`,
        data.edition > 1 && `Edition ${data.edition}`,
      ]),
      ...markdownToBlocks(written(template, data), new Map()),
    ],
  };
}

export function seasonBookDocument(data: SeasonBookData, template: Template): LetterDocument {
  const season = oneLine(data.season.name);
  return {
    ...frame(data, `Season book ${season}: ${oneLine(data.conference.name)}`),
    subject: `Every position and official of the season ${season}`,
    footer: `Season book ${season} · for the coordinator only`,
    blocks: [
      masthead([oneLine(data.conference.name), 'For the coordinator only'], `Season book ${season}`, [
        `${data.season.games} ${data.season.games === 1 ? 'game' : 'games'}`,
        data.season.throughWeek !== null && `through week ${data.season.throughWeek}`,
        dayInWords(data.issuedOn),
      ]),
      ...markdownToBlocks(written(template, data), plotsOfSeasonBook(data)),
    ],
  };
}

function frame(
  data: { conference: { name: string }; issuedOn: string },
  title: string,
): Pick<LetterDocument, 'title' | 'author' | 'language' | 'issuedAt'> {
  return {
    title,
    author: oneLine(data.conference.name),
    language: 'en-US',
    issuedAt: new Date(`${data.issuedOn}T00:00:00Z`),
  };
}

function masthead(over: string[], title: string, under: (string | false | null)[]): Block {
  const line = (parts: (string | false | null)[]): Inline[] => [{ text: parts.filter(Boolean).join(' · ') }];
  return { kind: 'masthead', over: line(over), title: [{ text: title }], under: line(under) };
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
