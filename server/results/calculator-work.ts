import { parentPort } from 'node:worker_threads';
import { gradeWholeSeason } from '../grading/season-model.ts';
import { findPatterns } from '../patterns/find-patterns.ts';
import type { Numbered, Reply } from '../threads/worker-queue.ts';
import type { CalculatorAnswer, CalculatorRequest } from './calculator.ts';
import { cutReport } from './patterns/cut-report.ts';

const tasks = { grade: gradeWholeSeason, patterns: findPatterns, cuts: cutReport };
export type Tasks = typeof tasks;

// Runs in the worker thread of a Calculator.
parentPort?.on('message', ({ id, task, given }: Numbered<CalculatorRequest>) => {
  let answer: Reply<CalculatorAnswer>;
  try {
    const compute = tasks[task] as (...given: readonly unknown[]) => unknown;
    answer = { id, result: compute(...given) };
  } catch (error) {
    answer = { id, error: error instanceof Error ? error.message : String(error) };
  }
  parentPort?.postMessage(answer);
});
