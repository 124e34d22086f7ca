import type { Queryable } from '../database/transaction.ts';
import { groupBy } from '../grading/group-by.ts';
import type { Measure } from '../measurement/person-measure.ts';
import { type OwnClinic, ownClinics } from './clinic-rows.ts';
import { type PersonResult, quizCounts, quizResult, type Told } from './quiz-results.ts';
import type { QuizShare } from './season-figure.ts';
import { readSeasonTaken } from './taken-store.ts';
import { type QuizWeight, readWeight } from './weight-store.ts';

export interface QuizOfOfficial {
  readonly quizId: string;
  readonly title: string;
  readonly opensAt: Date;
  readonly right: number;
  readonly asked: number;
  readonly sittings: number;
  readonly told: Told;
  /** Null where too few have taken the quiz. */
  readonly measure: Measure | null;
}

export interface OfficialLines {
  /** Quizzes of the season that the official has taken, by when they opened. */
  readonly quizzes: readonly QuizOfOfficial[];
  readonly clinics: {
    readonly asked: number;
    /** There, or made up. */
    readonly attended: number;
    readonly excused: number;
    readonly open: number;
    readonly list: readonly OwnClinic[];
  };
  readonly share: QuizShare;
  readonly weight: QuizWeight | null;
}

/** What a season's quizzes and clinics say of one official; of nobody else. */
export async function officialLines(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  officialId: string,
): Promise<OfficialLines> {
  const quizzes = (await quizzesByOfficial(db, conferenceId, seasonId)).get(officialId) ?? [];
  const list = await ownClinics(db, conferenceId, officialId, seasonId);
  const of = (...states: string[]) => list.filter(({ state }) => states.includes(state)).length;
  return {
    quizzes,
    clinics: {
      asked: list.length,
      attended: of('attended', 'made up'),
      excused: of('excused'),
      open: of('open'),
      list,
    },
    share: quizShare(quizzes),
    weight: await readWeight(db, conferenceId, seasonId),
  };
}

/** Quizzes of a season taken, by official. */
export async function quizzesByOfficial(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, QuizOfOfficial[]>> {
  const taken = await readSeasonTaken(db, conferenceId, seasonId);
  const lines = taken.flatMap(({ id, title, opensAt, counts, sittings: all }) =>
    quizResult(all, counts).people.map(({ officialId, right, asked, sittings, told, measure }) => ({
      officialId,
      quiz: { quizId: id, title, opensAt, right, asked, sittings, told, measure },
    })),
  );
  const found = groupBy(lines, ({ officialId }) => officialId);
  return new Map([...found].map(([officialId, own]) => [officialId, own.map(({ quiz }) => quiz)]));
}

/** Questions right over a season's quizzes, of each official who has taken one. */
export async function sharesByOfficial(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, QuizShare>> {
  const taken = await readSeasonTaken(db, conferenceId, seasonId);
  const found = groupBy(
    taken.flatMap(({ counts, sittings }) => quizCounts(sittings, counts)),
    ({ officialId }) => officialId,
  );
  return new Map([...found].map(([officialId, quizzes]) => [officialId, quizShare(quizzes)]));
}

type Counted = Pick<PersonResult, 'right' | 'asked' | 'told'>;

export const quizShare = (quizzes: readonly Counted[]): QuizShare => {
  const sum = (of: (one: Counted) => number) => quizzes.reduce((so, one) => so + of(one), 0);
  return {
    right: sum(({ right }) => right),
    asked: sum(({ asked }) => asked),
    told: {
      ofAll: quizzes.some(({ told }) => told.ofAll),
      right: sum(({ told }) => told.right),
      asked: sum(({ told }) => told.asked),
    },
  };
};
