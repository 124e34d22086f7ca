import { gameReportDocument, letterDocument, seasonBookDocument } from './documents-from-data.ts';
import {
  type GameReportData,
  gameReportDataSchema,
  type LetterData,
  letterDataSchema,
  type SeasonBookData,
  seasonBookDataSchema,
} from './letter-data.ts';
import { countPages, type RenderedPdf, renderPdf } from './pdf/render.ts';
import type { Paper } from './pdf/style.ts';
import { compileTemplate, type LetterTemplate } from './template.ts';

interface RenderOptions {
  paper?: Paper;
}

/**
 * One official's letter as a PDF.
 * @param data checked against its schema; a ZodError names the field that is wrong
 * @param template the conference's template text, or one compiled before (a batch compiles once)
 */
export async function renderLetter(
  data: LetterData,
  template: string | LetterTemplate,
  { paper = 'Letter' }: RenderOptions = {},
): Promise<RenderedPdf> {
  return renderPdf(letterDocument(letterDataSchema.parse(data), template), { paper });
}

/**
 * One official's report of one game on one page. When not all plays fit, the last ones are left out and
 * counted in `missesNotShown`, which the template prints; the grade and the totals count all of them.
 */
export async function renderGameReport(
  data: GameReportData,
  template: string | LetterTemplate,
  { paper = 'Letter' }: RenderOptions = {},
): Promise<RenderedPdf> {
  const write = typeof template === 'string' ? compileTemplate(template) : template;
  const whole = gameReportDataSchema.parse(data);
  const options = { paper, tight: true };
  const shorter = (plays: number): GameReportData => {
    const misses = whole.misses.slice(0, plays);
    const strengths = whole.strengths.slice(0, Math.max(0, plays - misses.length));
    return {
      ...whole,
      misses,
      strengths,
      uncounted: whole.uncounted.slice(0, Math.max(0, plays - misses.length - strengths.length)),
      missesNotShown: whole.missesNotShown + whole.misses.length - misses.length,
    };
  };
  // The most plays that still fit, by halving: misses first, then what was worth showing, then what does not count.
  let fits = 0;
  let most = whole.misses.length + whole.strengths.length + whole.uncounted.length;
  while (fits < most) {
    const tried = Math.ceil((fits + most) / 2);
    if (countPages(gameReportDocument(shorter(tried), write), options) <= 1) fits = tried;
    else most = tried - 1;
  }
  return renderPdf(gameReportDocument(shorter(fits), write), options);
}

/** The coordinator's book: every position and official, with contents and bookmarks. */
export async function renderSeasonBook(
  data: SeasonBookData,
  template: string | LetterTemplate,
  { paper = 'Letter' }: RenderOptions = {},
): Promise<RenderedPdf> {
  return renderPdf(seasonBookDocument(seasonBookDataSchema.parse(data), template), { paper });
}
