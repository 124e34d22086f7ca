import type { DoubleGame } from '../grading/agreement/detection.ts';
import type { ClipMark } from '../grading/clip-marks.ts';
import type { OtherWays } from '../grading/other-ways.ts';
import type { GivenModel, ModelledStandings, SeasonModel } from '../grading/season-choice.ts';
import type { SeasonSettings } from '../grading/season-model.ts';
import type { CountedGame, GradedGame } from '../grading/season-rows.ts';
import type { CountRow } from '../patterns/counts.ts';
import type { SeasonPatterns } from '../patterns/find-patterns.ts';
import type { PatternSettings } from '../patterns/settings.ts';
import { WorkerPool } from '../threads/worker-pool.ts';
import type { Tasks } from './calculator-work.ts';
import type { PairOfReports } from './detection/pair-samples.ts';
import type { CutCount, CutMaterial } from './patterns/cut-game.ts';

/** A task by its name, with what its function takes. */
export interface CalculatorRequest {
  readonly task: keyof Tasks;
  readonly given: readonly unknown[];
}

type Timed = <Result>(work: () => Promise<Result>) => Promise<Result>;

export interface CalculatorAnswer {
  readonly result: unknown;
}

/**
 * Computes grades, patterns and counts by situation in worker threads, so that long work never holds up another
 * request. Each method throws an Error with the sentence of what went wrong, or that the thread died.
 */
export class Calculator {
  #pool = new WorkerPool<CalculatorRequest, CalculatorAnswer>(
    new URL('./calculator-thread.mjs', import.meta.url),
    'Computing stopped',
  );
  readonly #timed: Timed;

  /** @param timed runs each task, and may time it */
  constructor(timed: Timed = (work) => work()) {
    this.#timed = timed;
  }

  /** As `gradeSeason`. */
  grade(
    rows: readonly GradedGame[],
    settings: SeasonSettings,
    games?: readonly CountedGame[],
    given?: GivenModel | null,
    clips?: readonly ClipMark[] | null,
    lastSeason?: readonly GradedGame[] | null,
  ): Promise<ModelledStandings> {
    return this.#ask('grade', rows, settings, games, given, clips, lastSeason);
  }

  /** As `otherWaysToRank`. */
  otherWays(
    rows: readonly GradedGame[],
    settings: SeasonSettings,
    games: readonly CountedGame[],
    used: SeasonModel,
    clips?: readonly ClipMark[] | null,
    lastSeason?: readonly GradedGame[] | null,
  ): Promise<OtherWays> {
    return this.#ask('ways', rows, settings, games, used, clips, lastSeason);
  }

  /** As `findPatterns`. */
  findPatterns(rows: readonly CountRow[], settings: Partial<PatternSettings>): Promise<SeasonPatterns> {
    return this.#ask('patterns', rows, settings);
  }

  /** As `cutGame`. */
  cutGame(material: CutMaterial): Promise<CutCount[]> {
    return this.#ask('cuts', material);
  }

  /** As `pairSamples`. */
  pairSamples(pairs: readonly PairOfReports[]): Promise<DoubleGame[]> {
    return this.#ask('pairs', pairs);
  }

  /** Starts a thread ahead of the first request. */
  async start(): Promise<void> {
    await this.grade([], { minimumGames: 0, minimumOpportunities: 0, top: 1, seed: 1 });
  }

  close(): Promise<void> {
    return this.#pool.close();
  }

  async #ask<Task extends keyof Tasks>(
    task: Task,
    ...given: Parameters<Tasks[Task]>
  ): Promise<ReturnType<Tasks[Task]>> {
    return (await this.#timed(() => this.#pool.ask({ task, given }))).result as ReturnType<Tasks[Task]>;
  }
}
