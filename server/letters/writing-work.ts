import { parentPort } from 'node:worker_threads';
import type { FromThread } from '../threads/timed-worker.ts';
import type { LetterDocument } from './document-tree.ts';
import { gameReportDocument, letterDocument, seasonBookDocument } from './documents-from-data.ts';
import type { GameReportData, LetterData, SeasonBookData, TemplateKind } from './letter-data.ts';
import type { RenderedPdf } from './pdf/render.ts';
import { countPages } from './pdf/render.ts';
import type { Paper } from './pdf/style.ts';
import { documentToHtml } from './preview-html.ts';
import { renderGameReport, renderLetter, renderSeasonBook } from './render-letter.ts';
import { collectFaults, compileTemplate, type LetterTemplate } from './template.ts';
import { problemOfWriting } from './template-fault.ts';
import type { TemplateProblem } from './template-problem.ts';

// Runs in the worker thread of a LetterWriter: everything that a conference's own template decides the course of.

export type WritingRequest = { kind: TemplateKind; body: string } & (
  | { what: 'check'; samples: object[] }
  | { what: 'html'; data: object }
  | { what: 'pdf'; data: object; paper: Paper }
);

export type WritingAnswer =
  | { problems: TemplateProblem[] }
  | { html: string }
  | { rendered: Omit<RenderedPdf, 'pdf'> & { pdf: Uint8Array } };

/** The template of the letter before is most often that of the next. */
let kept: { body: string; write: LetterTemplate } | null = null;

function compiled(body: string): LetterTemplate {
  if (kept?.body !== body) kept = { body, write: compileTemplate(body) };
  return kept.write;
}

function documentOf(kind: TemplateKind, data: object, write: LetterTemplate): LetterDocument {
  if (kind === 'season-book') return seasonBookDocument(data as SeasonBookData, write);
  if (kind === 'game-report') return gameReportDocument(data as GameReportData, write);
  return letterDocument(data as LetterData, write);
}

function render(kind: TemplateKind, data: object, write: LetterTemplate, paper: Paper) {
  if (kind === 'season-book') return renderSeasonBook(data as SeasonBookData, write, { paper });
  if (kind === 'game-report') return renderGameReport(data as GameReportData, write, { paper });
  return renderLetter(data as LetterData, write, { paper });
}

async function answer(request: WritingRequest): Promise<WritingAnswer> {
  const { kind, body } = request;
  try {
    const write = compiled(body);
    if (request.what === 'pdf') return { rendered: await render(kind, request.data, write, request.paper) };
    if (request.what === 'check') return { problems: faultsOf(request, write) };
    let html = '';
    const faults = collectFaults(() => {
      html = documentToHtml(documentOf(kind, request.data, write));
    });
    return faults.length > 0 ? { problems: faults.map((fault) => problemOfWriting(fault, body)) } : { html };
  } catch (error) {
    return { problems: [problemOfWriting(error, body)] };
  }
}

/** Everything that goes wrong in writing any of the letters, each once; of what ends one, the first that does. */
function faultsOf(
  { kind, body, samples }: Extract<WritingRequest, { what: 'check' }>,
  write: LetterTemplate,
): TemplateProblem[] {
  const found = new Map<string, TemplateProblem>();
  const add = (error: unknown) => {
    const problem = problemOfWriting(error, body);
    found.set(`${problem.line} ${problem.column} ${problem.message}`, problem);
  };
  for (const data of samples) {
    try {
      for (const fault of collectFaults(() =>
        countPages(documentOf(kind, data, write), { paper: 'Letter' }),
      )) {
        add(fault);
      }
    } catch (error) {
      add(error);
      break;
    }
  }
  return [...found.values()];
}

parentPort?.on('message', async (request: WritingRequest) => {
  let message: FromThread<WritingAnswer>;
  try {
    message = { answer: await answer(request) };
  } catch (error) {
    message = { error: error instanceof Error ? error.message : String(error) };
  }
  parentPort?.postMessage(message);
});
parentPort?.postMessage({ ready: true } satisfies FromThread<WritingAnswer>);
