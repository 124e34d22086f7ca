import { parentPort } from 'node:worker_threads';
import { renderPdf } from '../../letters/pdf/render.ts';
import type { Numbered } from '../../threads/worker-queue.ts';
import type { PrintRequest } from './printer.ts';

// Runs in a worker thread: a document of many pages takes a second or more.
parentPort?.on('message', async ({ id, document, paper }: Numbered<PrintRequest>) => {
  try {
    const { pdf } = await renderPdf(document, { paper });
    parentPort?.postMessage({ id, pdf });
  } catch (error) {
    parentPort?.postMessage({ id, error: error instanceof Error ? error.message : String(error) });
  }
});
