import { TimedWorker, TookTooLong, TookTooMuch } from '../threads/timed-worker.ts';
import { Problem } from '../web/problem.ts';
import type { TemplateKind } from './letter-data.ts';
import type { RenderedPdf } from './pdf/render.ts';
import type { Paper } from './pdf/style.ts';
import { templateContracts } from './plots.ts';
import { sampleData } from './sample-data.ts';
import { soundPart } from './template-check.ts';
import { deepestLine } from './template-fault.ts';
import type { TemplateProblem } from './template-problem.ts';
import type { WritingAnswer, WritingRequest } from './writing-work.ts';

/** A template that needs more for one letter is out of hand: ours take a tenth of a second and 20 MB. */
const limits = { seconds: 15, bookSeconds: 120, memory: 512 };

/**
 * Writes letters with the templates of conferences in a thread of its own, within limits of time and memory: whatever a
 * template does, the server goes on answering.
 */
export class LetterWriter {
  readonly #worker = new TimedWorker<WritingRequest, WritingAnswer>(
    new URL('./writing-thread.mjs', import.meta.url),
    { memory: limits.memory },
  );

  /**
   * All that is wrong with a template, by its words and by writing with what of it is right: for made-up officials with
   * all there can be and with nothing, and for those of `data`.
   */
  async check(kind: TemplateKind, body: string, data: readonly object[] = []): Promise<TemplateProblem[]> {
    const { problems, sound } = soundPart(body, templateContracts[kind]);
    const samples = [...sampleData(templateContracts[kind].data), ...data];
    const answer = await this.#ask({ what: 'check', kind, body: sound, samples });
    const inWriting = 'problems' in answer ? answer.problems : [];
    return [...problems, ...inWriting].sort((a, b) => a.line - b.line || a.column - b.column);
  }

  /** The letter as HTML for a preview, or what is wrong with the template. */
  async html(
    kind: TemplateKind,
    body: string,
    data: object,
  ): Promise<{ problems: TemplateProblem[]; html: string | null }> {
    const answer = await this.#ask({ what: 'html', kind, body, data });
    if ('html' in answer) return { problems: [], html: answer.html };
    return { problems: 'problems' in answer ? answer.problems : [], html: null };
  }

  /** @throws Problem 422 that says what is wrong with the template, and where. */
  async pdf(kind: TemplateKind, body: string, data: object, paper: Paper = 'Letter'): Promise<RenderedPdf> {
    const answer = await this.#ask({ what: 'pdf', kind, body, data, paper });
    if ('rendered' in answer) {
      const { buffer, byteOffset, byteLength } = answer.rendered.pdf;
      return { ...answer.rendered, pdf: Buffer.from(buffer as ArrayBuffer, byteOffset, byteLength) };
    }
    const problem = 'problems' in answer ? answer.problems[0] : null;
    const detail = problem
      ? `Line ${problem.line} of the template: ${problem.message}`
      : 'It gave no letter.';
    throw new Problem(422, 'The template cannot be used', detail);
  }

  close(): Promise<void> {
    return this.#worker.close();
  }

  async #ask(request: WritingRequest): Promise<WritingAnswer> {
    try {
      return await this.#worker.ask(
        request,
        request.kind === 'season-book' ? limits.bookSeconds : limits.seconds,
      );
    } catch (error) {
      if (!(error instanceof TookTooLong || error instanceof TookTooMuch)) throw error;
      const much = error instanceof TookTooLong ? 'takes too long' : 'takes too much memory';
      const message = `the letter gets out of hand near here: writing it ${much}.`;
      return { problems: [{ line: deepestLine(request.body), column: 1, message }] };
    }
  }
}
