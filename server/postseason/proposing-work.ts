import { parentPort } from 'node:worker_threads';
import { propose } from '../selection/propose.ts';
import type { Numbered } from '../threads/worker-queue.ts';
import type { ProposalRequest } from './proposer.ts';

// Runs in a worker thread, so that a long search never holds up another request.
parentPort?.on('message', async ({ id, problem }: Numbered<ProposalRequest>) => {
  try {
    parentPort?.postMessage({ id, proposal: await propose(problem) });
  } catch (error) {
    parentPort?.postMessage({ id, error: error instanceof Error ? error.message : String(error) });
  }
});
