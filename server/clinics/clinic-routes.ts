import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { attendanceStates } from '../knowledge/clinic-rows.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { csvChoice, sendCsv, tableCsv } from '../web/csv-file.ts';
import { attendanceSchema, clinicSchema } from './clinic.ts';
import { createClinic, listClinics, noteAttendance, readClinic } from './stores/clinic-store.ts';

const tags = ['quizzes and clinics'];
const ofSeason = z.object({ seasonId: z.uuid() });
const ofClinic = z.object({ clinicId: z.uuid() });
const frame = {
  id: z.uuid(),
  seasonId: z.uuid(),
  title: z.string(),
  heldOn: z.string(),
  place: z.string(),
  minutes: z.int().nullable(),
  makeUp: z.string(),
  audience: z.string(),
  positions: z.array(z.string()),
  crewId: z.string().nullable(),
};
const lineAnswer = z.object({
  ...frame,
  asked: z.int(),
  attended: z.int(),
  madeUp: z.int(),
  excused: z.int(),
  open: z.int().describe('not noted yet'),
});
const clinicAnswer = z.object({
  ...frame,
  people: z.array(
    z.object({ officialId: z.uuid(), name: z.string(), state: z.enum(attendanceStates), note: z.string() }),
  ),
});

/** Clinics and who was there, as JSON and CSV; for the coordinator. */
export async function clinicRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const answer = async (conferenceId: string, clinicId: string): Promise<z.input<typeof clinicAnswer>> => {
    const clinic = await readClinic(pool, conferenceId, clinicId);
    return { ...clinic, people: [...clinic.people] };
  };

  routes.get(
    '/api/seasons/:seasonId/clinics',
    {
      config,
      schema: {
        tags,
        summary: 'A season’s clinics',
        params: ofSeason,
        response: { 200: z.array(lineAnswer) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return listClinics(pool, conferenceId, season.id);
    },
  );

  routes.post(
    '/api/seasons/:seasonId/clinics',
    {
      config,
      schema: {
        tags,
        summary: 'Make a clinic',
        description: 'Whom it is for is told, unless its day has passed.',
        params: ofSeason,
        body: clinicSchema,
        response: { 201: clinicAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const id = await createClinic(pool, session, season.id, request.body);
      return reply.code(201).send(await answer(session.conferenceId, id));
    },
  );

  routes.put(
    '/api/clinics/:clinicId/attendance',
    {
      config,
      schema: {
        tags,
        summary: 'Note who was there; those left out stay as they are',
        params: ofClinic,
        body: z.object({ people: z.array(attendanceSchema).min(1).max(2000) }),
        response: { 200: clinicAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      await noteAttendance(pool, session, request.params.clinicId, request.body.people);
      return answer(session.conferenceId, request.params.clinicId);
    },
  );

  routes.get(
    '/api/seasons/:seasonId/clinics.csv',
    {
      config,
      schema: {
        tags,
        summary: 'Who was at which clinic of a season, as a table',
        params: ofSeason,
        querystring: z.object(csvChoice),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const rows: (string | number)[][] = [];
      for (const { id } of await listClinics(pool, conferenceId, season.id)) {
        const { title, heldOn, minutes, people } = await readClinic(pool, conferenceId, id);
        for (const { name, state, note } of people)
          rows.push([title, heldOn, minutes ?? '', name, state, note]);
      }
      const columns = ['clinic', 'day', 'minutes', 'official', 'attendance', 'note'];
      return sendCsv(reply, 'clinics', tableCsv(columns, rows), request.query);
    },
  );
}
