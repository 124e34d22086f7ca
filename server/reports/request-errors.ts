import { conflict, notFound, Problem } from '../web/problem.ts';
import { ReportIncomplete, ReportNotFound } from './refusals.ts';
import { StepRefused } from './states.ts';

/** What a refused step on a report tells the person who asked for it. */
export function asProblem(error: unknown): unknown {
  if (error instanceof ReportNotFound) return notFound('report');
  if (error instanceof StepRefused) return conflict(error.message);
  if (error instanceof ReportIncomplete) {
    return new Problem(
      422,
      'The report is not complete',
      error.missing.map((item) => item.message).join(' '),
      error.missing.map((item) => ({ field: item.what, message: item.message })),
    );
  }
  return error;
}

/** Runs `work` and turns what it refuses into a problem. */
export async function withProblems<Result>(work: () => Promise<Result>): Promise<Result> {
  try {
    return await work();
  } catch (error) {
    throw asProblem(error);
  }
}

/** What a refused step says, to be shown on the page it was asked for on; undefined when it went through. */
export async function refusalOf(work: () => Promise<unknown>): Promise<string | undefined> {
  try {
    await work();
    return undefined;
  } catch (error) {
    const problem = asProblem(error);
    if (problem instanceof Problem) return problem.message;
    throw problem;
  }
}
