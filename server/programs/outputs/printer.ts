import type { LetterDocument } from '../../letters/document-tree.ts';
import type { Paper } from '../../letters/pdf/style.ts';
import { WorkerQueue } from '../../threads/worker-queue.ts';

export interface PrintRequest {
  readonly document: LetterDocument;
  readonly paper: Paper;
}

/** Draws the documents of editions as PDF in one worker thread, one at a time. The thread starts on first use. */
export class Printer {
  #queue = new WorkerQueue<PrintRequest, { readonly pdf: Uint8Array }>(
    new URL('./printing-thread.mjs', import.meta.url),
    'Printing stopped',
  );

  async print(document: LetterDocument, paper: Paper): Promise<Buffer> {
    const { pdf } = await this.#queue.ask({ document, paper });
    return Buffer.from(pdf.buffer as ArrayBuffer, pdf.byteOffset, pdf.byteLength);
  }

  close(): Promise<void> {
    return this.#queue.close();
  }
}
