import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Queryable } from '../../database/transaction.ts';
import {
  fewestTakers,
  type ItemResult,
  type QuizResult,
  quizResult,
  roughBelow,
} from '../../knowledge/quiz-results.ts';
import { readTaken } from '../../knowledge/taken-store.ts';
import { letterOf } from '../rules/question.ts';
import { readVersions } from '../stores/bank-store.ts';
import { readQuiz, readTakers } from '../stores/quiz-rows.ts';
import { endSittings } from '../stores/sitting-store.ts';

/** What a quiz tells of its questions and of those who took it; for the coordinator. */
export async function quizResultPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  pages.get(
    '/quizzes/:quizId/results',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ quizId: z.uuid() }) },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { quizId } = request.params;
      await endSittings(pool, app.quizClock.now(), { conferenceId, quizId });
      const quiz = await readQuiz(pool, conferenceId, quizId);
      const taken = (await readTaken(pool, conferenceId, [quizId])).get(quizId) ?? [];
      const result = quizResult(taken, quiz.counts);
      const names = new Map(
        (await readTakers(pool, conferenceId, quizId)).map(({ officialId, name }) => [officialId, name]),
      );
      return reply.page(
        'quizzes/results',
        {
          quiz,
          result,
          fewestTakers,
          roughBelow,
          rough: result.counted === 'rough',
          countsOnly: result.counted === 'counts only',
          asked: names.size,
          items: await itemRows(pool, conferenceId, result),
          people: result.people
            .map((one) => ({
              ...one,
              name: names.get(one.officialId) ?? 'somebody who left',
              share: one.right / one.asked,
            }))
            .sort(
              (a, b) =>
                (b.measure?.value ?? b.share) - (a.measure?.value ?? a.share) || (a.name < b.name ? -1 : 1),
            ),
          fits: result.andersen && !('reason' in result.andersen) ? result.andersen : null,
          ofAll: result.people.some(({ told }) => told.ofAll),
          misfit: result.andersen && !('reason' in result.andersen) && result.andersen.p < 0.05,
        },
        { title: `Results: ${quiz.title}`, width: 'wide' },
      );
    },
  );
}

/** Correlations under this say that those who know more do not have it right more often (common practice, no source). */
const weakItem = 0.1;

async function itemRows(db: Queryable, conferenceId: string, { items }: QuizResult) {
  const keys = items.map(({ item }) => item.split(' ') as [string, string]);
  const asked = await readVersions(
    db,
    conferenceId,
    keys.map(([id, version]) => ({ id, version: Number(version) })),
  );
  const byItem = new Map(asked.map((row) => [row.item, row]));
  return items
    .map((one) => ({ ...one, ...byItem.get(one.item)! }))
    .map((one) => ({
      ...one,
      share: one.asked > 0 ? one.right / one.asked : null,
      weak: one.itemRest !== null && one.itemRest < weakItem,
      choiceRows: choiceRows(one, one.choices, one.answer),
    }))
    .sort((a, b) => (a.share ?? 2) - (b.share ?? 2));
}

const choiceRows = (one: ItemResult, choices: readonly string[], answer: number) =>
  choices.map((text, at) => ({
    letter: letterOf(at),
    text,
    isRight: at === answer,
    taken: one.taken[at],
    byLowest: one.takenByLowest[at],
    // A wrong choice that more took than the right one: the question or its answer may be at fault.
    suspicious: at !== answer && one.taken[at]! > one.taken[answer]!,
  }));
