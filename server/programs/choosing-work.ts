import { parentPort } from 'node:worker_threads';
import type { Numbered } from '../threads/worker-queue.ts';
import { chooseClips } from '../training/choose-clips.ts';
import type { ChooseRequest } from './chooser.ts';

// Runs in a worker thread, so that a long search never holds up another request.
parentPort?.on('message', async ({ id, problem, seconds }: Numbered<ChooseRequest>) => {
  try {
    parentPort?.postMessage({ id, ...(await chooseClips(problem, seconds)) });
  } catch (error) {
    parentPort?.postMessage({ id, error: error instanceof Error ? error.message : String(error) });
  }
});
