import type { ProposalProblem } from '../selection/proposal-problem.ts';
import type { Proposal } from '../selection/propose.ts';
import { WorkerQueue } from '../threads/worker-queue.ts';

export interface ProposalRequest {
  readonly problem: ProposalProblem;
}

/** Makes proposals in one thread, one at a time; requests wait their turn. The thread starts on first use. */
export class Proposer {
  #queue = new WorkerQueue<ProposalRequest, { proposal: Proposal }>(
    new URL('./proposing-thread.mjs', import.meta.url),
    'The making of proposals stopped',
  );

  /** @throws Error when the thread died. */
  async propose(problem: ProposalProblem): Promise<Proposal> {
    return (await this.#queue.ask({ problem })).proposal;
  }

  close(): Promise<void> {
    return this.#queue.close();
  }
}
