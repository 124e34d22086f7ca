import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { type Form, formOf, isAsShown, rowAsShown, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import { Problem } from '../../web/problem.ts';
import { type FactsLine, type FactsTyped, factsOfOfficialSchema } from '../facts.ts';
import { ofSeason } from '../postseason-schemas.ts';
import { keepFacts, readFacts } from '../stores/facts-store.ts';
import { type Names, readNames } from '../stores/names-store.ts';
import { refusedIn } from './doing.ts';
import { cellsOf, type FactCells, factsFromCells } from './fact-cells.ts';

const columns = [
  'years',
  'fitness',
  'fitnessUntil',
  'rulesTest',
  'standing',
  'standingReason',
  'available',
  'daysAway',
  'lately',
  'ties',
] as const;

/** What is known of a season's officials beside grades: one table to type. */
export async function factsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    seasonId: string,
    told: {
      form?: Form;
      wrong?: ReadonlyMap<string, string>;
      older?: ReadonlySet<string>;
      refused?: string;
      done?: string | undefined;
    } = {},
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const names = await readNames(pool, conferenceId);
    const lines = [...(await readFacts(pool, conferenceId, seasonId)).values()];
    return reply.page(
      'postseason/facts',
      {
        ...{ timeZone, refused: told.refused, done: told.done },
        season: await seasonOf(database, conferenceId, seasonId),
        rows: lines.map((line) => rowOf(line, names, told)),
        entered: lines.filter(({ revision }) => revision > 0).length,
      },
      { title: 'Facts of officials', width: 'wide', styles: ['official-facts.css'] },
    );
  }

  pages.get(
    '/seasons/:seasonId/official-facts',
    {
      config,
      schema: { hide: true, params: ofSeason, querystring: z.object({ kept: z.string().optional() }) },
    },
    async (request, reply) => {
      const { kept } = request.query;
      const done = kept && (kept === '0' ? 'Nothing was changed.' : `Kept: ${Number(kept)} changed.`);
      return show(request, reply, request.params.seasonId, { done });
    },
  );

  pages.post(
    '/seasons/:seasonId/official-facts',
    { config, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { seasonId } = request.params;
      await seasonOf(database, session.conferenceId, seasonId);
      const form = formOf(request.body);
      const { teams } = await readNames(pool, session.conferenceId);
      const wrong = new Map<string, string>();
      const typed = new Map<string, FactsTyped>();
      for (const personId of idsIn(form)) {
        if (isAsShown(form, `${personId}.was`, cellsIn(form, personId))) continue;
        const { facts, errors } = factsFromCells(cellsIn(form, personId), teams);
        const parsed = factsOfOfficialSchema.safeParse({
          ...facts,
          revision: Number(textOf(form[`${personId}.revision`])),
        });
        for (const [column, message] of errors) wrong.set(`${personId}.${column}`, message);
        if (parsed.success) typed.set(personId, parsed.data);
        else
          for (const { path, message } of parsed.error.issues)
            wrong.set(
              `${personId}.${columnOf[String(path[0])] ?? 'years'}`,
              capital(message.replace(`${String(path[0])} `, '')),
            );
      }
      if (wrong.size > 0) {
        reply.code(400);
        return show(request, reply, seasonId, {
          ...{ form, wrong },
          refused: `Nothing was kept: ${wrong.size === 1 ? 'one cell is' : `${wrong.size} cells are`} not right, each marked below.`,
        });
      }
      try {
        const kept = await keepFacts(pool, session, seasonId, typed);
        return reply.redirect(`/seasons/${seasonId}/official-facts?kept=${kept}`, 303);
      } catch (error) {
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        const older = new Set(error instanceof Problem ? error.errors.map(({ field }) => field) : []);
        return show(request, reply, seasonId, { form, older, refused: sentence });
      }
    },
  );
}

const columnOf: Readonly<Record<string, (typeof columns)[number]>> = {
  yearsOfService: 'years',
  fitnessUntil: 'fitnessUntil',
  rulesTestScore: 'rulesTest',
  standingReason: 'standingReason',
  daysAway: 'daysAway',
  postseasonsLately: 'lately',
  ties: 'ties',
};

const idsIn = (form: Form) =>
  Object.keys(form).flatMap((name) =>
    name.endsWith('.revision') ? [name.slice(0, -'.revision'.length)] : [],
  );

const cellsIn = (form: Form, personId: string): FactCells =>
  Object.fromEntries(
    columns.map((column) => [column, textOf(form[`${personId}.${column}`]).trim()]),
  ) as unknown as FactCells;

/** An official's row: as it is kept, or as it was typed where it was not. */
function rowOf(
  line: FactsLine,
  { people, teams }: Names,
  { form, wrong, older }: { form?: Form; wrong?: ReadonlyMap<string, string>; older?: ReadonlySet<string> },
) {
  const { personId } = line;
  const kept = cellsOf(line, teams);
  const cells = form && `${personId}.revision` in form ? cellsIn(form, personId) : kept;
  const isOlder = older?.has(personId) ?? false;
  // Where nobody else changed it, the revision that was typed upon stays.
  const revision = form && older && !isOlder ? textOf(form[`${personId}.revision`]) : String(line.revision);
  const was = form && older && !isOlder ? textOf(form[`${personId}.was`]) : rowAsShown(kept);
  const three = (value: string) =>
    ['', 'yes', 'no'].map((id) => ({ id, name: id || 'not known', chosen: id === value }));
  return {
    ...{ personId, revision, was, cells, isOlder },
    name: people.get(personId) ?? '',
    now: isOlder
      ? Object.entries(kept)
          .filter(([, value]) => value !== '')
          .map(([column, value]) => `${headings[column as keyof FactCells]} ${value}`)
          .join(', ') || 'nothing'
      : '',
    ...{ fitness: three(cells.fitness), standing: three(cells.standing), available: three(cells.available) },
    wrong: Object.fromEntries(columns.map((column) => [column, wrong?.get(`${personId}.${column}`)])),
    entered: line.enteredAt && {
      at: line.enteredAt,
      by: line.enteredBy ? people.get(line.enteredBy) : 'Crewmark',
      byFile: line.enteredHow === 'file',
    },
  };
}

const headings: Readonly<Record<keyof FactCells, string>> = {
  years: 'years',
  fitness: 'fitness',
  fitnessUntil: 'counts until',
  rulesTest: 'rules test',
  standing: 'good standing',
  standingReason: 'because',
  available: 'available',
  daysAway: 'away on',
  lately: 'postseason games',
  ties: 'tied to',
};
