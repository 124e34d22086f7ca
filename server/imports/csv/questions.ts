import { listedLines } from './notes.ts';

/**
 * What a file may leave open so that only the person who made it can say, once for the file. Each answer has its
 * words, to choose it by and to tell afterwards how it was read.
 */
export const questions = {
  dates: {
    asks: 'Are the dates written day first or month first?',
    answers: { 'day-first': 'Day first', 'month-first': 'Month first' },
  },
  left: {
    asks: 'Which side of the field is “left” in this file?',
    answers: {
      'head-linesman-side': 'The head linesman’s side; right is the line judge’s',
      'line-judge-side': 'The line judge’s side; right is the head linesman’s',
      unknown: 'It changes, as with the offense’s direction: leave these sides unknown',
    },
  },
} as const;

export type QuestionName = keyof typeof questions;
type AnswerTo<Q extends QuestionName> = keyof (typeof questions)[Q]['answers'] & string;
export type Answer = { [Q in QuestionName]: AnswerTo<Q> }[QuestionName];
export type Answers = { readonly [Q in QuestionName]?: AnswerTo<Q> };

export const questionNames = Object.keys(questions) as readonly QuestionName[];
export const answersTo = <Q extends QuestionName>(name: Q) =>
  Object.keys(questions[name].answers) as [AnswerTo<Q>, ...AnswerTo<Q>[]];

/** What one text means under each answer; an answer that makes nothing of it is left out. */
export type Meanings = { readonly [A in Answer]?: unknown };

/** A column that may hold texts which mean one thing or another. */
export interface Asking {
  question: QuestionName;
  /** Undefined when the text leaves nothing open. */
  meanings(text: string): Meanings | undefined;
  /** A meaning in words for people. */
  show(meaning: unknown): string;
  /**
   * What the texts of a file together say, where they can settle the question: each text votes for an answer, surely
   * or likely.
   */
  vote?(text: string): { answer: Answer; sure: boolean } | undefined;
}

/** A question that a file leaves open. */
export interface OpenQuestion {
  name: QuestionName;
  asks: string;
  /** A text that can be read in more than one way. */
  example: string;
  answers: { answer: Answer; words: string }[];
  count: number;
  /** The first `listedLines` lines it is about. */
  lines: number[];
}

export class OpenQuestions {
  readonly #open = new Map<QuestionName, OpenQuestion>();

  get listed(): OpenQuestion[] {
    return [...this.#open.values()];
  }

  /** `show` gives the words of what the text would mean under an answer. */
  add(name: QuestionName, text: string, line: number, show: (answer: Answer) => string): void {
    let open = this.#open.get(name);
    if (open === undefined) {
      const { asks, answers } = questions[name];
      open = {
        name,
        asks,
        example: text,
        answers: Object.entries(answers).map(([answer, words]) => {
          const meaning = show(answer as Answer);
          return { answer: answer as Answer, words: meaning === '' ? words : `${words}: ${meaning}` };
        }),
        count: 0,
        lines: [],
      };
      this.#open.set(name, open);
    }
    open.count += 1;
    if (open.lines.length < listedLines && open.lines.at(-1) !== line) open.lines.push(line);
  }
}

/** The answer that the texts' votes settle, or undefined: sure votes against each other settle nothing. */
export class Votes {
  readonly #sure = new Map<QuestionName, Set<Answer>>();
  readonly #likely = new Map<QuestionName, Set<Answer>>();

  add(question: QuestionName, vote: { answer: Answer; sure: boolean } | undefined): void {
    if (vote === undefined) return;
    const votes = vote.sure ? this.#sure : this.#likely;
    votes.set(question, (votes.get(question) ?? new Set()).add(vote.answer));
  }

  get answers(): Answers {
    const settled: Partial<Record<QuestionName, Answer>> = {};
    for (const name of questionNames) {
      const sure = this.#sure.get(name);
      const votes = sure ?? this.#likely.get(name);
      if (votes?.size === 1) settled[name] = [...votes][0];
    }
    return settled as Answers;
  }
}
