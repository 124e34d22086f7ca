import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { findingInWords } from '../../duties/consequence.ts';
import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { gradeKinds } from '../../grading/grade-kinds.ts';
import { readSeasonGames } from '../../schedule/season-overview.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { csvChoice, sendCsv, tableCsv } from '../../web/csv-file.ts';
import { number, signed } from '../../web/format.ts';
import { notFound } from '../../web/problem.ts';
import { type DutyName, readDuties } from '../patterns/pattern-counts.ts';
import type { Reading } from '../reading.ts';
import { type ExplainedGrade, explainGrades } from '../standings/explained-grade.ts';
import { lastSeasonSentence, lastSeasonToOfficial } from '../standings/last-season-words.ts';
import { readOfficialShares } from '../standings/official-shares.ts';
import { kindRows } from './kind-rows.ts';
import { watchedBy } from './watched-by.ts';

const ofOfficial = z.object({ seasonId: z.uuid(), personId: z.uuid() });

/** How a grade came about, in plain words, down to the plays: for the coordinator, and for officials their own. */
export async function gradePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const own = { config: { policy: policies.ownEvaluation }, schema: { hide: true, params: ofOfficial } };
  const asFile = { ...own, schema: { ...own.schema, querystring: z.object(csvChoice) } };

  async function explained(
    from: Reading,
    conferenceId: string,
    { seasonId, personId }: z.infer<typeof ofOfficial>,
  ) {
    const official = (await readPeople(from, conferenceId)).get(personId);
    if (!official) throw notFound('official');
    const standings = await from.results.allStandingsOf(conferenceId, seasonId);
    const grades = await explainGrades(from.pool, standings, { conferenceId, seasonId, personId });
    const games = await readSeasonGames(from.pool, conferenceId, seasonId);
    const names = new Map(games.map((game) => [game.id, `${game.visitor} at ${game.home}`]));
    return { official, grades, standings, games: names };
  }

  pages.get('/seasons/:seasonId/officials/:personId/grade', own, async (request, reply) => {
    const { conferenceId, roles } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, request.params.seasonId);
    const { official, grades, standings, games, shares, duties } = await app.reading(
      request,
      async (from) => ({
        ...(await explained(from, conferenceId, request.params)),
        shares: await readOfficialShares(from.pool, { conferenceId, ...request.params }),
        duties: await readDuties(from.pool, conferenceId, season.id),
      }),
    );
    const coordinates = roles.has('coordinator');
    return reply.page(
      'results/grade',
      {
        season,
        official,
        coordinates,
        files: gradeFiles,
        notes: standings.whole.notes,
        lastSeason:
          standings.whole.lastSeason?.reason === null
            ? coordinates
              ? lastSeasonSentence(standings.whole.lastSeason.name, standings.whole.lastSeason)
              : lastSeasonToOfficial(standings.whole.lastSeason.name)
            : null,
        grades: grades.map((grade) => ({
          ...gradeView(grade, games, duties, standings.whole.lastSeason?.reason === null),
          shares: shares.find(({ position }) => position === grade.position),
        })),
      },
      { title: 'How this grade came about' },
    );
  });

  for (const { file, write } of gradeFiles) {
    pages.get(`/seasons/:seasonId/officials/:personId/${file}.csv`, asFile, async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      await seasonOf(database, conferenceId, request.params.seasonId);
      const { grades, games } = await app.reading(request, (from) =>
        explained(from, conferenceId, request.params),
      );
      return sendCsv(reply, file, write(grades, games), request.query);
    });
  }
}

/** The tables of a grade's page as files. */
const gradeFiles = [
  { file: 'grade', holds: 'Duties', write: dutiesCsv },
  { file: 'grade-plays', holds: 'Plays behind them', write: playsCsv },
  { file: 'grade-games', holds: 'Games', write: gamesCsv },
];

function gradeView(
  { line, grade, kinds, duties, games, position }: ExplainedGrade,
  names: Map<string, string>,
  rubric: ReadonlyMap<string, DutyName>,
  withLastSeason: boolean,
) {
  const { adjusted } = line;
  const met = grade.opportunities - line.misses;
  return {
    position,
    line,
    met,
    reason: grade.grade === null ? grade.reason : null,
    kinds: kindRows(kinds),
    lost: duties
      .filter((duty) => duty.pointsLost > 0)
      .map((duty) => ({
        ...duty,
        guidance: rubric.get(duty.key)?.guidance,
        plays: duty.plays.map((play) => ({ ...play, said: findingInWords(play.finding, play.consequence) })),
      })),
    lostInAll: grade.grade === null ? null : 100 - grade.grade,
    without: duties.filter((duty) => duty.misses === 0).length,
    differed: duties.reduce((sum, duty) => sum + duty.differed, 0),
    unsure: adjusted !== null && errorUnknown(adjusted),
    steps: adjusted && [
      { what: 'Season grade as marked', points: number(line.raw, 2) },
      { what: observersInWords(adjusted.parts.observers), points: signed(adjusted.parts.observers, 2) },
      { what: gamesInWords(adjusted.parts.games), points: signed(adjusted.parts.games, 2) },
      {
        what: cautionInWords(adjusted.reliability, withLastSeason),
        points: signed(adjusted.parts.caution, 2),
      },
      { what: 'Adjusted grade', points: number(adjusted.grade, 2), total: true },
    ],
    games: games.map((game) => ({
      ...game,
      name: names.get(game.gameId) ?? '',
      watchedBy: watchedBy(game.observers),
    })),
  };
}

const small = (value: number) => Math.abs(value) < 0.1;

function observersInWords(points: number): string {
  if (small(points)) return 'Observers: on the whole neither strict nor lenient';
  return points > 0
    ? 'Observers: on the whole stricter than others, so points are given back'
    : 'Observers: on the whole more lenient than others, so points are taken off';
}

function gamesInWords(points: number): string {
  if (small(points)) return 'Games: on the whole neither hard nor easy for the crew';
  return points > 0
    ? 'Games: on the whole games in which the whole crew was marked low, so points are given back'
    : 'Games: on the whole games in which the whole crew was marked high, so points are taken off';
}

function cautionInWords(reliability: number, withLastSeason: boolean): string {
  if (reliability < 0.005) {
    return "Caution: so far nothing but chance tells officials apart, so the grade is the position's average";
  }
  const toward = withLastSeason
    ? "the position's average and what the season before showed"
    : "the position's average";
  return `Caution: what is left is drawn toward ${toward}, because a few games say only so much (this grade says ${Math.round(100 * reliability)} % of what could be known)`;
}

function dutiesCsv(grades: readonly ExplainedGrade[]): string {
  return tableCsv(
    ['position', 'duty', 'opportunities', 'missed', 'judged differently', 'points lost'],
    grades.flatMap(({ position, duties }) =>
      duties.map((duty) => [
        position,
        duty.title,
        duty.opportunities,
        duty.misses,
        duty.differed,
        duty.pointsLost.toFixed(3),
      ]),
    ),
  );
}

function playsCsv(grades: readonly ExplainedGrade[]): string {
  return tableCsv(
    [
      'position',
      'duty',
      'week',
      'game',
      'play',
      'what kind of play',
      'finding',
      'what it cost',
      'observers',
      'comment',
    ],
    grades.flatMap(({ position, duties }) =>
      duties.flatMap(({ title, plays }) =>
        plays.map((play) => [
          position,
          title,
          play.week,
          play.game,
          play.number,
          play.inWords,
          play.finding,
          play.consequence ?? '',
          play.observers,
          play.comment,
        ]),
      ),
    ),
  );
}

function gamesCsv(grades: readonly ExplainedGrade[], names: ReadonlyMap<string, string>): string {
  return tableCsv(
    [
      'position',
      'week',
      'game',
      'observers',
      'opportunities',
      'missed',
      'grade as marked',
      'calls',
      'mechanics',
    ],
    grades.flatMap(({ position, games }) =>
      games.map((game) => [
        position,
        game.week,
        names.get(game.gameId) ?? '',
        game.observers,
        game.opportunities,
        game.misses,
        ...gradeKinds.map((kind) => game.grades[kind]?.toFixed(2) ?? ''),
      ]),
    ),
  );
}
