import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { peopleInRoles } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { audienceInWords } from '../../programs/edition-content.ts';
import { editionAddress } from '../../programs/edition-routes.ts';
import { readEdition } from '../../programs/stores/edition-store.ts';
import { readProgram } from '../../programs/stores/program-rows.ts';
import { errorsOf, type FormErrors, fieldErrors, formOf, listOf, textOf } from '../../web/form.ts';
import { dayIn } from '../../web/today.ts';
import { ruleSchema, sessionSchema } from '../attendance-input.ts';
import { ruleInWords } from '../standing.ts';
import { addViewers, isOpen, readAttendance, remindViewers } from '../stores/attendance-store.ts';
import { readReelOf } from '../stores/reel-store.ts';
import { keepRule, readRule, showNames } from '../stores/rule-store.ts';
import { holdSession, listSessions, tickAttended } from '../stores/session-store.ts';

const stateWords = {
  watched: 'watched',
  there: 'at a session',
  earlier: 'watched before the correction',
  begun: 'begun',
  'not begun': 'not begun',
} as const;

/** Who is to watch an edition, who has, who has not; sessions; what counts. */
export async function attendancePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const at = '/training/programs/:programId/editions/:number/audience';
  type Address = z.output<typeof editionAddress>;

  async function view(
    request: FastifyRequest,
    { programId, number }: Address,
    told: { errors?: FormErrors; values?: object; notice?: string } = {},
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const program = await readProgram(pool, conferenceId, programId);
    const { content } = await readEdition(pool, conferenceId, programId, number);
    const attendance = await readAttendance(pool, conferenceId, programId, number);
    const rule = await readRule(pool, conferenceId, programId);
    const { audience, people } = attendance;
    const meant = new Set(people.map(({ personId }) => personId));
    const others = (
      await peopleInRoles(app.database, conferenceId, ['official', 'observer', 'coordinator'])
    ).filter(({ id }) => !meant.has(id));
    return {
      ...{ program, content, number, rule, ...attendance, others },
      at: `/training/programs/${programId}/editions/${number}/audience`,
      ruleWords: ruleInWords(rule, (await readReelOf(pool, conferenceId, programId, number)) !== null),
      audienceWords: audienceInWords({
        ...program,
        audience: audience.audience,
        audiencePosition: audience.position as typeof program.audiencePosition,
      }),
      isEverybody: audience.audience === 'everybody',
      lines: people.map((one) => ({
        ...one,
        words: stateWords[one.state],
        isOpen: isOpen(one),
        tone: isOpen(one) ? 'warn' : 'good',
      })),
      open: people.filter(isOpen).length,
      done: people.filter((one) => !isOpen(one)).length,
      isLate: attendance.dueOn !== null && attendance.dueOn < dayIn(timeZone),
      sessions: await listSessions(pool, conferenceId, programId, number),
      ...told,
    };
  }
  const title = 'Who watches';

  pages.get(
    at,
    {
      config,
      schema: {
        hide: true,
        params: editionAddress,
        querystring: z.object({ reminded: z.coerce.number().optional(), done: z.string().optional() }),
      },
    },
    async (request, reply) => {
      const { reminded, done } = request.query;
      const notice =
        reminded === undefined
          ? done && 'Kept.'
          : reminded === 0
            ? 'Nobody was reminded: each is reminded once a day at most.'
            : `Reminded: ${reminded}.`;
      return reply.page('watching/audience', await view(request, request.params, notice ? { notice } : {}), {
        title,
        width: 'wide',
      });
    },
  );

  pages.post(
    `${at}/remind`,
    { config, schema: { hide: true, params: editionAddress } },
    async (request, reply) => {
      const { programId, number } = request.params;
      const ids = listOf(formOf(request.body).person);
      const reminded = await remindViewers(
        pool,
        sessionOf(request),
        programId,
        number,
        ids.length > 0 ? ids : 'all',
      );
      return reply.redirect(
        `/training/programs/${programId}/editions/${number}/audience?reminded=${reminded}`,
        303,
      );
    },
  );

  const acts: Record<string, (request: FastifyRequest, address: Address) => Promise<unknown>> = {
    add: (request, { programId, number }) =>
      addViewers(
        pool,
        sessionOf(request),
        programId,
        number,
        listOf(formOf(request.body).person).filter((id) => z.uuid().safeParse(id).success),
      ),
    rule: (request, { programId }) => {
      const form = formOf(request.body);
      const rule = ruleSchema.parse({
        shareNeeded: textOf(form.shareNeeded),
        allQuestions: textOf(form.allQuestions) === 'yes',
        remindDays: textOf(form.remindDays),
      });
      return keepRule(pool, sessionOf(request), programId, rule);
    },
    names: (request, { programId, number }) => {
      const form = formOf(request.body);
      return showNames(pool, sessionOf(request), programId, number, {
        shown: textOf(form.shown) === 'yes',
        confirmed: textOf(form.sure) === 'yes' && textOf(form.sureAgain) === 'yes',
      });
    },
    sessions: (request, { programId, number }) => {
      const form = formOf(request.body);
      const session = sessionSchema.parse({
        heldOn: textOf(form.heldOn),
        place: textOf(form.place),
        makeUpBy: textOf(form.makeUpBy) || null,
      });
      return holdSession(pool, sessionOf(request), programId, number, session);
    },
  };
  for (const [act, work] of Object.entries(acts))
    pages.post(
      `${at}/${act}`,
      { config, schema: { hide: true, params: editionAddress } },
      async (request, reply) => {
        const { programId, number } = request.params;
        try {
          await work(request, request.params);
        } catch (error) {
          const errors = error instanceof z.ZodError ? errorsOf(error) : fieldErrors(error);
          return reply
            .code(400)
            .page(
              'watching/audience',
              await view(request, request.params, { errors, values: formOf(request.body) }),
              { title, width: 'wide' },
            );
        }
        return reply.redirect(`/training/programs/${programId}/editions/${number}/audience?done=${act}`, 303);
      },
    );

  pages.post(
    `${at}/sessions/:sessionId`,
    { config, schema: { hide: true, params: editionAddress.extend({ sessionId: z.uuid() }) } },
    async (request, reply) => {
      const { programId, number, sessionId } = request.params;
      const ids = listOf(formOf(request.body).person);
      await tickAttended(pool, sessionOf(request), programId, number, sessionId, ids);
      return reply.redirect(`/training/programs/${programId}/editions/${number}/audience?done=ticked`, 303);
    },
  );

  pages.get(
    `${at}/sessions/:sessionId`,
    { config, schema: { hide: true, params: editionAddress.extend({ sessionId: z.uuid() }) } },
    async (request, reply) => {
      const shown = await view(request, request.params);
      const session = shown.sessions.find(({ id }) => id === request.params.sessionId);
      if (!session) return reply.redirect(shown.at, 303);
      return reply.page(
        'watching/session',
        {
          ...shown,
          session,
          lines: shown.lines.map((one) => ({ ...one, wasThere: session.attended.includes(one.personId) })),
        },
        { title: 'Who was there' },
      );
    },
  );
}
