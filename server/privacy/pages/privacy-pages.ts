import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { bytesOf } from '../../films/film-files.ts';
import { type FormErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { dataZip } from '../data-zip.ts';
import { erasePerson } from '../erasure.ts';
import { lettersNaming } from '../letters-naming.ts';
import { type OwnData, ownData } from '../own-data.ts';
import { nameAndErasure } from '../people.ts';

/** Tables in words that people know. */
const labels: Readonly<Record<string, string>> = {
  audit_entry: 'entries of the history',
  crew_member: 'crews you are in',
  cut_count: 'counts by situation',
  game_count: 'counts by game',
  known_device: 'devices you signed in on',
  inquiry: 'inquiries',
  inquiry_answer: 'answers to inquiries',
  inquiry_reading: 'second readings',
  inquiry_statement: 'statements about plays',
  letter_job: 'letters being written',
  message: 'messages',
  narration: 'narrations that you spoke',
  observation: 'marks',
  observer_assignment: 'assignments',
  observer_absence: 'absences',
  observer_conflict: 'conflicts you declared',
  observer_profile: 'what you watch, and how far you travel',
  opportunity_count: 'counts by report',
  person: 'name, address, home',
  person_role: 'roles',
  team_contact: 'the team you speak for',
  reply: 'answers',
  report: 'reports',
  report_change: 'changes that your devices sent',
  report_revision: 'versions of reports',
  ruling: 'rulings',
  session: 'sessions',
  working_crew_member: 'games you worked',
};

const hidden = { schema: { hide: true } } as const;

/** A person's own data: seen, taken along, and by the coordinator taken away. */
export async function privacyPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;

  const summary = ({ tables, letters }: OwnData) => ({
    letters: letters.length,
    tables: Object.entries(tables).map(([name, rows]) => ({
      name: labels[name] ?? name.replaceAll('_', ' '),
      rows: rows.length,
    })),
  });

  app.get('/my/data', { config: { policy: policies.signedIn }, ...hidden }, async (request, reply) => {
    const { conferenceId, personId } = sessionOf(request);
    const data = await ownData(pool, conferenceId, personId, { all: false });
    if (!data) throw new Problem(404, 'Not found', 'There is no such person.');
    return reply.page('privacy/my-data', summary(data), { title: 'My data' });
  });

  app.get('/my/data.zip', { config: { policy: policies.signedIn }, ...hidden }, async (request, reply) => {
    const { conferenceId, personId } = sessionOf(request);
    return sendZip(app, reply, conferenceId, await ownData(pool, conferenceId, personId, { all: false }));
  });

  const person = async (request: FastifyRequest) => {
    const { personId } = request.params as { personId: string };
    return nameAndErasure(app.database, sessionOf(request).conferenceId, personId);
  };

  const page = async (
    request: FastifyRequest,
    reply: FastifyReply,
    view: { errors: FormErrors; values?: object },
  ) => {
    const someone = await person(request);
    const own = someone.id === sessionOf(request).personId;
    const naming = someone.erasedAt
      ? []
      : await lettersNaming(pool, sessionOf(request).conferenceId, someone.id);
    const title = `Data of ${someone.name}`;
    return reply.page('privacy/person-data', { someone, own, naming, ...view }, { title });
  };

  app.get(
    '/people/:personId/data',
    { config: { policy: policies.coordinatorOfPerson }, ...hidden },
    async (request, reply) => page(request, reply, { errors: {} }),
  );

  app.get(
    '/people/:personId/data.zip',
    { config: { policy: policies.coordinatorOfPerson }, ...hidden },
    async (request, reply) => {
      const { personId } = request.params as { personId: string };
      const { conferenceId } = sessionOf(request);
      return sendZip(app, reply, conferenceId, await ownData(pool, conferenceId, personId, { all: true }));
    },
  );

  app.post(
    '/people/:personId/erase',
    { config: { policy: policies.coordinatorOfPerson }, ...hidden },
    async (request, reply) => {
      const form = formOf(request.body);
      const values = { reason: textOf(form.reason).trim(), name: textOf(form.name).trim() };
      const { conferenceId, personId: actor } = sessionOf(request);
      const someone = await person(request);
      const errors: FormErrors = {};
      if (values.reason === '') errors.reason = 'Say why; it stays in the history, so name nobody.';
      if (values.name !== someone.name) errors.name = `Type the name as it is: ${someone.name}`;
      if (someone.id === actor) errors.name = 'Another coordinator has to erase your data.';
      if (someone.erasedAt !== null) errors.name = 'Their data was erased already.';
      if (Object.keys(errors).length > 0) return page(request, reply.code(400), { errors, values });
      await inTransaction(pool, (client) =>
        erasePerson(client, { conferenceId, personId: actor }, someone.id, values.reason),
      );
      return reply.redirect(`/people/${someone.id}/data`, 303);
    },
  );
}

async function sendZip(
  app: FastifyInstance,
  reply: FastifyReply,
  conferenceId: string,
  data: OwnData | null,
) {
  if (!data) throw new Problem(404, 'Not found', 'There is no such person.');
  const voice = new Map<string, string>();
  for (const { id } of data.tables.narration ?? []) {
    const file = app.narration.files.kept(conferenceId, String(id));
    if ((await bytesOf(file)) > 0) voice.set(`${id}.flac`, file);
  }
  return reply
    .header('content-type', 'application/zip')
    .header('content-disposition', 'attachment; filename="my-data.zip"')
    .header('cache-control', 'no-store')
    .send(dataZip(data, voice));
}
