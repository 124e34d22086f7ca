import { setTimeout } from 'node:timers/promises';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { daysToArrive } from '../../films/tidying.ts';
import { daysKept } from '../../messages/retention.ts';
import { errorsBesideLabels, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { daysKept as daysKeptOfWebhooks } from '../../webhooks/delivery-store.ts';
import { dueAsCsv } from '../retention/csv.ts';
import { type Due, digestOf, dueNow, longOpenSeasons } from '../retention/due.ts';
import { kindWords, type Retention, retentionKinds, retentionSchema } from '../retention/kinds.ts';
import { keepRetention, lastLooked, readRetention } from '../retention/setting-store.ts';
import { takeAwayDue } from '../retention/take-away.ts';

const path = '/settings/kept';
/** Milliseconds until a page answers while taking away goes on: each person takes seconds. */
const longestWait = 10_000;
type Values = Readonly<Record<string, string>>;

/** For how many years what is kept, what would go today, and taking it away: for the coordinator. */
export async function retentionPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const forCoordinator = { config: { policy: policies.coordinator }, schema: { hide: true } } as const;

  const show = async (
    request: FastifyRequest,
    reply: FastifyReply,
    view: { values?: Values; errors?: FormErrors; tried?: Retention; notice?: string; problem?: string } = {},
  ) => {
    const { conferenceId, conferenceName } = sessionOf(request);
    const kept = await readRetention(pool, conferenceId);
    const { values = valuesOf(view.tried ?? kept), errors = {}, tried, notice, problem } = view;
    const due = await dueNow(pool, conferenceId, tried ?? kept);
    return reply.page(
      'privacy/retention',
      {
        fields: retentionKinds.map((kind) => ({
          kind,
          value: values[kind],
          wrong: errors[kind],
          ...kindWords[kind],
        })),
        nightly: values.nightly === 'yes',
        errors,
        tried: tried !== undefined,
        none: retentionKinds.every((kind) => (tried ?? kept)[kind] === null),
        letters: quotedLonger(tried ?? kept),
        ...dueView(due),
        seen: digestOf(due),
        open: await longOpenSeasons(pool, conferenceId),
        conferenceName,
        settled: daysKept,
        toWebhooks: daysKeptOfWebhooks,
        filmUploads: daysToArrive,
        looked: await lastLooked(pool, conferenceId),
        notice,
        problem,
      },
      { title: 'What is kept how long' },
    );
  };

  app.get(path, forCoordinator, (request, reply) =>
    show(request, reply, { notice: done[textOf(formOf(request.query).done)] ?? undefined }),
  );

  app.post(path, forCoordinator, async (request, reply) => {
    const { values, parsed } = typed(request.body);
    if (!parsed.success) {
      return show(request, reply.code(400), { values, errors: errorsBesideLabels(parsed.error) });
    }
    // The other button of the form: seen first, not kept yet.
    if (textOf(formOf(request.body).act) === 'try') return show(request, reply, { tried: parsed.data });
    await inTransaction(pool, (client) => keepRetention(client, sessionOf(request), parsed.data));
    return reply.redirect(`${path}?done=kept`, 303);
  });

  app.get(`${path}/due.csv`, forCoordinator, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const due = await dueNow(pool, conferenceId, await readRetention(pool, conferenceId));
    return reply
      .type('text/csv; charset=utf-8')
      .header('content-disposition', 'attachment; filename="no-longer-kept.csv"')
      .header('cache-control', 'no-store')
      .send(dueAsCsv(due));
  });

  app.post(`${path}/now`, forCoordinator, async (request, reply) => {
    const form = formOf(request.body);
    const { conferenceName } = sessionOf(request);
    if (textOf(form.name).trim() !== conferenceName) {
      const errors = { name: `Type the conference’s name as it is: ${conferenceName}` };
      return show(request, reply.code(400), { errors });
    }
    const run = takeAwayDue(pool, sessionOf(request), 'by hand', textOf(form.seen));
    let ended: 'taken' | 'going';
    try {
      ended = await Promise.race([
        run.then(() => 'taken' as const),
        setTimeout(longestWait, 'going' as const, { ref: false }),
      ]);
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 409) throw error;
      return show(request, reply.code(409), { problem: error.message });
    }
    if (ended === 'going')
      run.catch((err: unknown) => app.log.error({ err }, 'taking away stopped; what is left stays due'));
    return reply.redirect(`${path}?done=${ended}`, 303);
  });
}

const done: Readonly<Record<string, string>> = {
  kept: 'Kept. Nothing was taken away by it yet.',
  taken: 'Taken away. The history says what and how many.',
  going:
    'It goes on by itself, one after the other. Open this page again to see what is left; the history says what went.',
};

const valuesOf = (setting: Retention): Values => ({
  ...Object.fromEntries(retentionKinds.map((kind) => [kind, String(setting[kind] ?? '')])),
  nightly: setting.nightly ? 'yes' : '',
});

function typed(body: unknown) {
  const form = formOf(body);
  const values: Values = Object.fromEntries(
    [...retentionKinds, 'nightly'].map((name) => [name, textOf(form[name]).trim()]),
  );
  const years = retentionKinds.map((kind) => [kind, values[kind] === '' ? null : Number(values[kind])]);
  const parsed = retentionSchema.safeParse({
    ...Object.fromEntries(years),
    nightly: values.nightly === 'yes',
  });
  return { values, parsed };
}

/** Letters quote comments: kept longer, they keep what was to go. */
const quotedLonger = ({ remarks, letters }: Retention) =>
  remarks !== null && (letters === null || letters > remarks);

const dueView = (due: readonly Due[]) => ({
  any: due.length > 0,
  counts: due
    .filter(({ person }) => person === null)
    .flatMap(({ kind, season, counts }) =>
      Object.entries(counts).map(([what, count]) => ({
        kind: kindWords[kind].title,
        season: season?.name ?? '',
        what,
        count,
      })),
    ),
  people: due.flatMap(({ person }) => (person ? [person] : [])),
});
