import type { GradedGame, SeasonSettings, SeasonStandings } from '../../grading/season-model.ts';
import { WorkerQueue } from '../../threads/worker-queue.ts';

export interface GradingRequest {
  readonly rows: readonly GradedGame[];
  readonly settings: SeasonSettings;
}

export interface GradingAnswer {
  readonly result: SeasonStandings;
}

/** Grades seasons in a worker thread, so that a long fit never holds up another request. */
export class Grader {
  #queue = new WorkerQueue<GradingRequest, GradingAnswer>(
    new URL('./grading-thread.mjs', import.meta.url),
    'Grading stopped',
  );

  /** As `gradeWholeSeason`. @throws Error with its sentence, or when the thread died. */
  async grade(rows: readonly GradedGame[], settings: SeasonSettings): Promise<SeasonStandings> {
    return (await this.#queue.ask({ rows, settings })).result;
  }

  /** Starts the thread ahead of the first request. */
  async start(): Promise<void> {
    await this.grade([], { minimumGames: 0, minimumOpportunities: 0, top: 1, seed: 1 });
  }

  close(): Promise<void> {
    return this.#queue.close();
  }
}
