import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { teamsToChoose } from '../../accounts/team-contact.ts';
import { inTransaction } from '../../database/transaction.ts';
import { errorsBesideLabels, errorsOf, formOf, textOf } from '../../web/form.ts';
import { type Refused, refusedOf } from '../refusals.ts';
import { inquirySettingSchema, keepInquirySetting, readInquirySetting } from '../stores/setting-store.ts';
import { declareTie, ownTies, takeBackTie, tieKinds } from '../stores/ties-store.ts';

const tieSchema = z.object({
  teamId: z.uuid('Choose the team.'),
  kind: z.enum(tieKinds, 'Choose what ties you to it.'),
});

/** What the conference takes of inquiries, and what ties a coordinator to a team. */
export async function inquirySettingPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const forCoordinator = { config: { policy: policies.coordinator }, schema: { hide: true } } as const;

  pages.get('/settings/inquiries', forCoordinator, async (request, reply) =>
    reply.page(
      'inquiries/settings',
      {
        values: await readInquirySetting(pool, sessionOf(request).conferenceId),
        errors: {},
        kept: textOf(formOf(request.query).done) === 'kept',
      },
      { title: 'Settings of inquiries' },
    ),
  );

  pages.post('/settings/inquiries', forCoordinator, async (request, reply) => {
    const form = formOf(request.body);
    const typed = Object.fromEntries(
      (['aWeek', 'windowHours', 'answerDays'] as const).map((field) => [
        field,
        textOf(form[field]).trim() || undefined,
      ]),
    );
    const parsed = inquirySettingSchema.safeParse({ ...typed, notice: textOf(form.notice) });
    if (!parsed.success)
      return reply
        .code(422)
        .page(
          'inquiries/settings',
          { values: form, errors: errorsBesideLabels(parsed.error) },
          { title: 'Settings of inquiries' },
        );
    await inTransaction(pool, (client) => keepInquirySetting(client, sessionOf(request), parsed.data));
    return reply.redirect('/settings/inquiries?done=kept', 303);
  });

  async function showTies(request: FastifyRequest, reply: FastifyReply, refused: Refused | null = null) {
    const { conferenceId, personId } = sessionOf(request);
    const form = formOf(request.body);
    return reply.page(
      'inquiries/ties',
      {
        ties: await ownTies(pool, conferenceId, personId),
        teams: (await teamsToChoose(pool, conferenceId)).map((team) => ({
          ...team,
          chosen: team.id === textOf(form.teamId),
        })),
        kinds: tieKinds.map((kind) => ({ kind, chosen: kind === textOf(form.kind) })),
        errors: refused?.errors ?? {},
        wrong: refused?.wrong ?? null,
      },
      { title: 'What ties me to teams', width: 'narrow' },
    );
  }

  pages.get('/inquiries/ties', forCoordinator, (request, reply) => showTies(request, reply));

  pages.post('/inquiries/ties', forCoordinator, async (request, reply) => {
    const form = formOf(request.body);
    const parsed = tieSchema.safeParse({ teamId: textOf(form.teamId), kind: textOf(form.kind) });
    const refused = parsed.success
      ? await refusedOf(() =>
          inTransaction(pool, (client) => declareTie(client, sessionOf(request), parsed.data)),
        )
      : { errors: errorsOf(parsed.error), wrong: null };
    return refused ? showTies(request, reply.code(422), refused) : reply.redirect('/inquiries/ties', 303);
  });

  pages.post(
    '/inquiries/ties/:tieId/take-back',
    { ...forCoordinator, schema: { hide: true, params: z.object({ tieId: z.uuid() }) } },
    async (request, reply) => {
      const { tieId } = request.params;
      await inTransaction(pool, (client) => takeBackTie(client, sessionOf(request), tieId));
      return reply.redirect('/inquiries/ties', 303);
    },
  );
}
