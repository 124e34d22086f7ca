import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { wholeNumber } from '../web/whole-number.ts';
import { tags } from './bank-routes.ts';
import { mostChoices } from './rules/question.ts';
import { tooLateInWords } from './rules/sitting-words.ts';
import { keepAnswers } from './stores/sitting-store.ts';

/** An official's answers, one by one, as their device sends them. */
export async function sittingRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();

  routes.put(
    '/api/my/quizzes/:quizId/answers/:place',
    {
      config: { policy: policies.official },
      schema: {
        tags,
        summary: 'Keep your answer to one question of the sitting that goes on',
        description:
          'The server’s clock holds the limit. What comes after the end is kept apart and counts nothing; the answer says so.',
        params: z.object({ quizId: z.uuid(), place: wholeNumber('place', 1, 1000) }),
        body: z.object({ choice: wholeNumber('choice', 0, mostChoices - 1) }),
        response: {
          200: z.object({
            kept: z.boolean(),
            said: z.string().nullable(),
            secondsLeft: z.int(),
          }),
        },
      },
    },
    async (request) => {
      const { quizId, place } = request.params;
      const now = app.quizClock.now();
      const kept = await keepAnswers(
        app.database.pool,
        sessionOf(request),
        quizId,
        new Map([[place, request.body.choice]]),
        now,
      );
      return kept.kept
        ? { kept: true, said: null, secondsLeft: Math.floor((kept.endsAt.getTime() - now.getTime()) / 1000) }
        : { kept: false, said: tooLateInWords(sessionOf(request).timeZone, kept.endedAt), secondsLeft: 0 };
    },
  );
}
