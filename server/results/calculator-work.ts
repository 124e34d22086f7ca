import { parentPort } from 'node:worker_threads';
import { otherWaysToRank } from '../grading/other-ways.ts';
import { gradeSeason } from '../grading/season-choice.ts';
import { findPatterns } from '../patterns/find-patterns.ts';
import type { Numbered, Reply } from '../threads/worker-queue.ts';
import type { CalculatorAnswer, CalculatorRequest } from './calculator.ts';
import { pairSamples } from './detection/pair-samples.ts';
import { cutGame } from './patterns/cut-game.ts';

const tasks = {
  grade: gradeSeason,
  ways: otherWaysToRank,
  patterns: findPatterns,
  cuts: cutGame,
  pairs: pairSamples,
};
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
