import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { audienceForm, audienceInWords, audienceOfForm } from '../../knowledge/audience-form.ts';
import { attendanceStates } from '../../knowledge/clinic-rows.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import {
  errorsBesideLabels,
  type Form,
  type FormErrors,
  fieldErrors,
  formOf,
  isAsShown,
  rowAsShown,
  textOf,
} from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import { attendanceSchema, clinicSchema, stateWords } from '../clinic.ts';
import {
  askNewcomers,
  createClinic,
  listClinics,
  noteAttendance,
  readClinic,
  removeClinic,
} from '../stores/clinic-store.ts';

const title = 'Clinics';
const clinicOfForm = (form: Form) => {
  const text = (name: string) => textOf(form[name]).trim();
  return {
    title: text('title'),
    heldOn: text('heldOn'),
    place: text('place'),
    minutes: text('minutes') || null,
    makeUp: text('makeUp'),
    ...audienceOfForm(form),
  };
};

/** A season's clinics, making one, and ticking who was there. */
export async function clinicPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });
  const ofClinic = z.object({ clinicId: z.uuid() });

  pages.get('/clinics', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/clinics` : '/season');
  });

  async function listPage(
    request: FastifyRequest,
    seasonId: string,
    sent?: { values: ReturnType<typeof clinicOfForm>; errors: FormErrors },
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const values = sent?.values ?? { ...clinicOfForm({}), heldOn: dayIn(timeZone) };
    return {
      season,
      closed: season.state === 'closed',
      clinics: await listClinics(pool, conferenceId, season.id),
      form: {
        values,
        errors: sent?.errors ?? {},
        ...(await audienceForm(pool, conferenceId, season.id, values)),
      },
      wrong: sent !== undefined,
    };
  }

  pages.get(
    '/seasons/:seasonId/clinics',
    { config, schema: { hide: true, params } },
    async (request, reply) =>
      reply.page('clinics/list', await listPage(request, request.params.seasonId), { title, width: 'wide' }),
  );

  pages.post(
    '/seasons/:seasonId/clinics',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const values = clinicOfForm(formOf(request.body));
      const refuse = async (errors: FormErrors) =>
        reply.code(400).page('clinics/list', await listPage(request, season.id, { values, errors }), {
          title,
          width: 'wide',
        });
      const parsed = clinicSchema.safeParse(values);
      if (!parsed.success) return refuse(errorsBesideLabels(parsed.error));
      try {
        return reply.redirect(`/clinics/${await createClinic(pool, session, season.id, parsed.data)}`, 303);
      } catch (error) {
        return refuse(fieldErrors(error));
      }
    },
  );

  const show = async (
    request: FastifyRequest,
    reply: FastifyReply,
    clinicId: string,
    told: { refused?: string; done?: string } = {},
  ) => {
    const { conferenceId } = sessionOf(request);
    const clinic = await readClinic(pool, conferenceId, clinicId);
    const season = await seasonOf(database, conferenceId, clinic.seasonId);
    return reply.page(
      'clinics/clinic',
      {
        clinic,
        season,
        closed: season.state === 'closed',
        audience: await audienceInWords(pool, conferenceId, season.id, clinic),
        there: clinic.people.filter(({ state }) => state === 'attended' || state === 'made up').length,
        untouched: clinic.people.every(({ state }) => state === 'open'),
        people: clinic.people.map((one) => ({
          ...one,
          was: rowAsShown({ state: one.state, note: one.note }),
          states: attendanceStates.map((id) => ({ id, name: stateWords[id], chosen: id === one.state })),
        })),
        ...told,
      },
      { title: clinic.title, width: 'wide' },
    );
  };

  pages.get(
    '/clinics/:clinicId',
    {
      config,
      schema: { hide: true, params: ofClinic, querystring: z.object({ kept: z.string().optional() }) },
    },
    async (request, reply) =>
      show(
        request,
        reply,
        request.params.clinicId,
        request.query.kept === undefined ? {} : { done: keptInWords(Number(request.query.kept)) },
      ),
  );

  /** A form of a clinic that does something; what is refused is said on its page as it is now. */
  const doing = (
    act: string,
    work: (request: FastifyRequest, clinicId: string, form: Form) => Promise<string>,
  ) =>
    pages.post(
      `/clinics/:clinicId/${act}`,
      { config, schema: { hide: true, params: ofClinic } },
      async (request, reply) => {
        const { clinicId } = request.params;
        try {
          return reply.redirect(await work(request, clinicId, formOf(request.body)), 303);
        } catch (error) {
          if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
          return show(request, reply.code(error.status), clinicId, {
            refused: error.errors[0] ? `Not done: ${error.errors[0].message}.` : error.message,
          });
        }
      },
    );

  doing('attendance', async (request, clinicId, form) => {
    const rest = textOf(form.act) === 'all there' ? 'attended' : 'open';
    const sent = Object.keys(form).flatMap((name) => {
      const officialId = /^state-(.+)$/.exec(name)?.[1];
      return officialId === undefined
        ? []
        : [
            {
              officialId,
              state: textOf(form[name]).replace(/^open$/, rest),
              note: textOf(form[`note-${officialId}`]),
              was: wasShown(textOf(form[`was-${officialId}`])),
            },
          ];
    });
    const parsed = z.array(attendanceOverSchema).max(2000).safeParse(sent);
    if (!parsed.success)
      throw new Problem(
        400,
        'Not valid',
        'Not kept: a note is longer than 500 characters, or an answer is no choice.',
      );
    const { overtaken } = await noteAttendance(
      pool,
      sessionOf(request),
      clinicId,
      parsed.data.filter(
        ({ officialId, state, note }) => !isAsShown(form, `was-${officialId}`, { state, note }),
      ),
    );
    return `/clinics/${clinicId}?kept=${overtaken > 0 ? overtaken : 'yes'}`;
  });
  doing('newcomers', async (request, clinicId) => {
    await askNewcomers(pool, sessionOf(request), clinicId);
    return `/clinics/${clinicId}`;
  });
  doing('delete', async (request, clinicId) => {
    const seasonId = await removeClinic(pool, sessionOf(request), clinicId);
    return `/seasons/${seasonId}/clinics`;
  });
}

const attendanceOverSchema = attendanceSchema.extend({
  was: attendanceSchema.pick({ state: true, note: true }).optional(),
});

/** What the form said that an official's row had been; undefined where it said nothing of it. */
function wasShown(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** @param overtaken of how many somebody else noted something meanwhile; no number: of none */
const keptInWords = (overtaken: number) =>
  overtaken > 0
    ? `Attendance is kept, but of ${overtaken === 1 ? 'one official' : `${overtaken} officials`} somebody else noted something meanwhile. Theirs stays: look through the list, and note yours again where it holds.`
    : 'Attendance is kept.';
