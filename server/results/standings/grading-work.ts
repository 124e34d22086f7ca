import { parentPort } from 'node:worker_threads';
import { gradeWholeSeason } from '../../grading/season-model.ts';
import type { Numbered, Reply } from '../../threads/worker-queue.ts';
import type { GradingAnswer, GradingRequest } from './grader.ts';

// Runs in the worker thread of a Grader.
parentPort?.on('message', ({ id, rows, settings }: Numbered<GradingRequest>) => {
  let answer: Reply<GradingAnswer>;
  try {
    answer = { id, result: gradeWholeSeason(rows, settings) };
  } catch (error) {
    answer = { id, error: error instanceof Error ? error.message : String(error) };
  }
  parentPort?.postMessage(answer);
});
