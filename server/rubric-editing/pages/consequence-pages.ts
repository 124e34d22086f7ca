import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import {
  type ConsequenceWeights,
  consequenceInWords,
  consequences,
  leastConsequenceWeight,
  mostConsequenceWeight,
} from '../../duties/consequence.ts';
import { changeConsequenceWeights, consequenceWeightsSchema } from '../../rubric/consequence-weights.ts';
import { readRubric } from '../../rubric/read-rubric.ts';
import { RubricChangeRefused, WeightsChangedMeanwhile } from '../../rubric/refusals.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { ofSeason } from './shown-rubric.ts';

const noteSchema = typedText({ most: 500 });

/** What a wrong or missed call weighs by what it cost: to be read by all, set by the coordinator. */
export async function consequencePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  async function page(
    request: FastifyRequest,
    reply: FastifyReply,
    seasonId: string,
    sent: { form?: Form; wrong?: FormErrors; problem?: string; done?: boolean } = {},
  ) {
    const { conferenceId, roles } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const rubric = await readRubric(database.pool, conferenceId, season.id);
    if (!rubric) return reply.redirect(`/seasons/${season.id}/rubric/start`, 303);
    const { form = {}, wrong = {} } = sent;
    return reply.page(
      'rubric-editing/consequences',
      {
        season,
        rubric,
        next: rubric.filedReports > 0 ? rubric.number + 1 : null,
        mayChange: roles.has('coordinator') && season.state !== 'closed',
        rows: consequences.map((consequence) => ({
          consequence,
          label: `A call that ${consequenceInWords[consequence]}`,
          now: rubric.consequenceWeights[consequence],
          value:
            form[consequence] === undefined
              ? rubric.consequenceWeights[consequence]
              : textOf(form[consequence]),
          wrong: wrong[consequence],
        })),
        least: leastConsequenceWeight,
        most: mostConsequenceWeight,
        // After a refusal the weights as they are now are what is seen.
        seen: consequences.map((consequence) => rubric.consequenceWeights[consequence]).join(' '),
        note: textOf(form.note),
        noteWrong: wrong.note,
        ...sent,
      },
      { title: 'What a call weighs', width: 'narrow' },
    );
  }

  pages.get(
    '/seasons/:seasonId/rubric/consequences',
    {
      config: { policy: policies.staff },
      schema: {
        hide: true,
        params: ofSeason,
        querystring: z.object({ done: z.literal('changed').optional() }),
      },
    },
    (request, reply) =>
      page(request, reply, request.params.seasonId, { done: request.query.done !== undefined }),
  );

  pages.post(
    '/seasons/:seasonId/rubric/consequences',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      const form = formOf(request.body);
      const weights = consequenceWeightsSchema.safeParse(
        Object.fromEntries(consequences.map((one) => [one, numberIn(textOf(form[one]))])),
      );
      const note = noteSchema.safeParse(textOf(form.note));
      const seen = weightsSeen(textOf(form.seen));
      if (!weights.success || !note.success || !seen) {
        const wrong = {
          ...(weights.success ? {} : errorsBesideLabels(weights.error)),
          ...(note.success ? {} : { note: note.error.issues[0]!.message }),
        };
        const problem = seen ? undefined : 'Look at the weights as they are now and send the form again.';
        return page(request, reply.code(422), season.id, { form, wrong, problem });
      }
      try {
        await inTransaction(database.pool, (client) =>
          changeConsequenceWeights(client, actor, season.id, { weights: weights.data, seen }, note.data),
        );
      } catch (error) {
        if (!(error instanceof WeightsChangedMeanwhile || error instanceof RubricChangeRefused)) throw error;
        const problem =
          error instanceof WeightsChangedMeanwhile
            ? `${error.message} Your entries are kept below.`
            : 'These are the weights already; change one of them.';
        return page(request, reply.code(409), season.id, { form, problem });
      }
      return reply.redirect(`/seasons/${season.id}/rubric/consequences?done=changed`, 303);
    },
  );
}

/** As typed, a comma for the point too; nothing typed is no number. */
const numberIn = (text: string) => (text.trim() === '' ? undefined : text.trim().replace(',', '.'));

function weightsSeen(text: string): ConsequenceWeights | undefined {
  const values = text.split(' ');
  const seen = consequenceWeightsSchema.safeParse(
    Object.fromEntries(consequences.map((consequence, at) => [consequence, values[at]])),
  );
  return seen.data;
}
