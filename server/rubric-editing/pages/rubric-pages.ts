import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { sharesIn } from '../../duties/compiled-rubric.ts';
import { lackingFor } from '../../duties/crew-without-duty.ts';
import { type Duty, dutyCategories } from '../../duties/duty.ts';
import { dutySentence } from '../../duties/duty-sentence.ts';
import { compileRubric, fullCrew } from '../../duties/opportunities.ts';
import { checkDuty, type Refusal } from '../../duties/refusals.ts';
import { rubricDifference } from '../../duties/rubric-difference.ts';
import { positionsOf } from '../../football/crews.ts';
import type { Fact } from '../../football/play.ts';
import { loggedFacts, playInWords } from '../../football/play-in-words.ts';
import { type CrewSize, crewSizes, type Position, positions } from '../../football/positions.ts';
import { dutyFingerprint } from '../../rubric/duty-fingerprint.ts';
import {
  changeRubric,
  hasRubric,
  type Rubric,
  type RubricChange,
  RubricChangedMeanwhile,
  RubricChangeRefused,
  readRubric,
  readVersions,
} from '../../rubric/rubric-store.ts';
import { readSteps } from '../../schedule/season-steps.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { exactText, keepable, typedText } from '../../text/typed-text.ts';
import { type Form, formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { numberOf } from '../../web/whole-number.ts';
import { readDutyFigures } from '../duty-figures.ts';
import { blankDuty, dutyFormView, dutyFromForm } from '../duty-form.ts';
import { previewOnSeason, type SeasonPreview } from '../season-preview.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const ofDuty = ofSeason.extend({ dutyKey: exactText({ most: 60 }) });

/** The rubric by position, its duties one by one, and the form that adds or changes one. */
export async function rubricPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const forAll = { policy: policies.signedIn };
  const forCoordinator = { policy: policies.coordinator };

  async function rubricOf(
    request: FastifyRequest,
    seasonId: string,
    number?: number,
  ): Promise<{ season: Season; rubric: Rubric }> {
    const { conferenceId } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const rubric = await readRubric(database.pool, conferenceId, season.id, number);
    if (rubric === undefined) throw notFound('rubric');
    return { season, rubric };
  }

  async function dutyOf(
    request: FastifyRequest,
    { seasonId, dutyKey }: z.infer<typeof ofDuty>,
    number?: number,
  ) {
    const found = await rubricOf(request, seasonId, number);
    const duty = found.rubric.duties.find((one) => one.key === dutyKey);
    if (duty === undefined) throw notFound('duty');
    return { ...found, duty };
  }

  const isConfirmed = async ({ conferenceId, id }: Season) =>
    (await readSteps(database.pool, conferenceId, id)).get('rubric') === 'confirmed';

  const mayChange = (request: FastifyRequest) => sessionOf(request).roles.has('coordinator');

  // A season whose rubric was not begun has one thing to show: how to begin it.
  app.addHook('preHandler', async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const { seasonId } = request.params as { seasonId: string };
    const season = await seasonOf(database, conferenceId, seasonId);
    if (await hasRubric(database.pool, conferenceId, season.id)) return;
    return reply.redirect(`/seasons/${season.id}/rubric/start`, 303);
  });

  pages.get(
    '/seasons/:seasonId/rubric',
    {
      config: forAll,
      schema: {
        hide: true,
        params: ofSeason,
        querystring: z.object({
          position: z.enum(positions).default('referee'),
          crew: z.coerce.number().pipe(z.literal(crewSizes)).optional(),
          version: numberOf('version').optional(),
          done: typedText({ most: 200 }).optional(),
        }),
      },
    },
    async (request, reply) => {
      const { season, rubric } = await rubricOf(request, request.params.seasonId, request.query.version);
      const versions = await readVersions(database.pool, season.conferenceId, season.id);
      const isCurrent = versions[0]!.number === rubric.number;
      const crewSize = request.query.crew ?? (season.crewSize as CrewSize);
      const present = positionsOf(crewSize);
      const position = present.includes(request.query.position) ? request.query.position : 'referee';
      const figures = await readDutyFigures(database.pool, season.conferenceId, season.id, position);
      const owed = dutiesOwedBy(rubric.duties, position, crewSize);
      const whole = owed.reduce(
        (sum, { duty }) => sum + duty.weight * (figures.get(duty.key)?.perGame ?? 0),
        0,
      );
      const categories = dutyCategories.map((category) => ({
        category,
        slug: category.replaceAll(' ', '-'),
        duties: owed
          .filter(({ duty }) => duty.category === category)
          .map(({ duty, coversFor }) => {
            const perGame = figures.get(duty.key)?.perGame;
            return {
              ...duty,
              coversFor,
              sentence: dutySentence(duty),
              perGame,
              sharePercent:
                perGame === undefined || whole === 0 ? null : (100 * duty.weight * perGame) / whole,
            };
          }),
      }));
      return reply.page(
        'rubric-editing/rubric',
        {
          season,
          rubric,
          next: rubric.number + 1,
          position,
          crewSize,
          tabs: present.map((name) => ({ name, here: name === position })),
          sizes: crewSizes.map((size) => ({ size, here: size === crewSize })),
          categories: categories.filter(({ duties }) => duties.length > 0),
          dutyCount: owed.length,
          mayChange: mayChange(request) && isCurrent,
          toConfirm:
            mayChange(request) && isCurrent && season.state !== 'closed' && !(await isConfirmed(season)),
          lacks: lackingFor(compileRubric(rubric.duties), fullCrew(crewSize))?.sentence,
          isCurrent,
          atVersion: isCurrent ? '' : `?version=${rubric.number}`,
          andVersion: isCurrent ? '' : `&version=${rubric.number}`,
          notice: doneNotices[request.query.done ?? ''],
          versions,
        },
        { title: `What is expected of the ${position}`, width: 'wide' },
      );
    },
  );

  pages.get(
    '/seasons/:seasonId/rubric/versions/:number',
    {
      config: forAll,
      schema: { hide: true, params: ofSeason.extend({ number: numberOf('number') }) },
    },
    async (request, reply) => {
      const { seasonId, number } = request.params;
      const { season, rubric } = await rubricOf(request, seasonId, number);
      const before = number === 1 ? [] : (await rubricOf(request, seasonId, number - 1)).rubric.duties;
      return reply.page(
        'rubric-editing/version',
        {
          season,
          rubric,
          isFirst: number === 1,
          earlier: number - 1,
          differences: rubricDifference(before, rubric.duties).map((one) => ({
            ...one,
            isRemoved: one.kind === 'removed',
            tone: one.kind === 'added' ? 'good' : one.kind === 'removed' ? 'bad' : 'warn',
          })),
        },
        { title: `Rubric version ${number}` },
      );
    },
  );

  pages.get(
    '/seasons/:seasonId/rubric/duties/:dutyKey',
    {
      config: forAll,
      schema: {
        hide: true,
        params: ofDuty,
        querystring: z.object({ version: numberOf('version').optional() }),
      },
    },
    async (request, reply) => {
      const { version } = request.query;
      const { season, rubric, duty } = await dutyOf(request, request.params, version);
      const [newest] = await readVersions(database.pool, season.conferenceId, season.id);
      const isCurrent = newest!.number === rubric.number;
      const coordinator = mayChange(request) && isCurrent;
      const preview = coordinator
        ? previewView(await previewOnSeason(database, app.calculator, season, duty, duty))
        : null;
      return reply.page(
        'rubric-editing/duty',
        {
          season,
          rubric,
          duty,
          sentence: dutySentence(duty),
          mayChange: coordinator,
          isCurrent,
          preview,
          seen: dutyFingerprint(duty),
        },
        { title: duty.title },
      );
    },
  );

  interface FormState {
    season: Season;
    rubric: Rubric;
    /** The duty that is changed; none when one is added. */
    before: Duty | undefined;
    values: Record<string, unknown>;
    seen?: string;
    note?: string;
    refusals?: readonly Refusal[];
    preview?: SeasonPreview;
    problem?: string;
  }

  /** The form, with what was sent and, once it was right, what it would do. */
  function formPage(reply: FastifyReply, state: FormState) {
    const { season, rubric, before, values, preview, refusals = [] } = state;
    const action =
      before === undefined
        ? `/seasons/${season.id}/rubric/add`
        : `/seasons/${season.id}/rubric/duties/${before.key}/change`;
    return reply.page(
      'rubric-editing/duty-form',
      {
        season,
        rubric,
        before,
        action,
        seen: state.seen ?? (before === undefined ? '' : dutyFingerprint(before)),
        note: state.note ?? '',
        problem:
          state.problem ??
          (refusals.length > 0
            ? 'The duty is refused as it stands; the reasons are beside the fields.'
            : undefined),
        preview: preview === undefined ? null : previewView(preview),
        previewed: preview === undefined ? '' : dutyFingerprint(values as Duty),
        startsVersion: rubric.filedReports > 0 ? rubric.number + 1 : null,
        ...dutyFormView(values, refusals),
      },
      { title: before === undefined ? 'Add a duty' : `Change: ${before.title}`, width: 'wide' },
    );
  }

  /**
   * Takes what a form sent. It is saved only when its sender has seen what exactly this duty would do; until then,
   * and after any edit, that is shown first.
   */
  async function takeForm(request: FastifyRequest, reply: FastifyReply, state: Omit<FormState, 'values'>) {
    const form = formOf(request.body);
    const { season, before } = state;
    const note = noteFrom(form);
    const seen = textOf(form.seen);
    const values = dutyFromForm(form, before?.key);
    const shown = { ...state, values, note, seen };
    const check = checkDuty(values);
    const refusals = check.ok ? [] : [...check.refusals];
    if (before === undefined && state.rubric.duties.some((duty) => duty.key === values.key)) {
      refusals.push({ field: 'key', reason: `there is a duty "${values.key}" already; choose another key` });
    }
    if (!check.ok || refusals.length > 0) return formPage(reply.code(422), { ...shown, refusals });
    const preview = async (problem?: string) =>
      formPage(reply, {
        ...shown,
        values: check.duty,
        problem,
        preview: await previewOnSeason(database, app.calculator, season, before, check.duty),
      });
    if (textOf(form.do) !== 'save') return preview();
    if (textOf(form.previewed) !== dutyFingerprint(check.duty)) {
      return preview(
        'You changed the duty since you last looked. This is what it would do now; save it if that is right.',
      );
    }
    const change: RubricChange =
      before === undefined
        ? { kind: 'add', duty: check.duty }
        : { kind: 'change', key: before.key, seen, duty: check.duty };
    const problem = await make(request, season.id, change, note);
    if (problem !== undefined) return formPage(reply.code(409), { ...shown, problem, seen: undefined });
    const done = before === undefined ? 'added' : 'changed';
    const position = encodeURIComponent(check.duty.positions[0]!);
    return reply.redirect(`/seasons/${season.id}/rubric?position=${position}&done=${done}`, 303);
  }

  /** Makes the change; a sentence for the person when it could not be made. */
  async function make(request: FastifyRequest, seasonId: string, change: RubricChange, note: string) {
    const { conferenceId, personId } = sessionOf(request);
    try {
      await inTransaction(database.pool, (client) =>
        changeRubric(client, { conferenceId, personId }, seasonId, change, note),
      );
      return undefined;
    } catch (error) {
      if (error instanceof RubricChangedMeanwhile) return `${error.message} Your entries are kept below.`;
      if (error instanceof RubricChangeRefused) return error.message;
      throw error;
    }
  }

  pages.get(
    '/seasons/:seasonId/rubric/add',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const found = await rubricOf(request, request.params.seasonId);
      return formPage(reply, { ...found, before: undefined, values: blankDuty });
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/add',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const found = await rubricOf(request, request.params.seasonId);
      return takeForm(request, reply, { ...found, before: undefined });
    },
  );

  pages.get(
    '/seasons/:seasonId/rubric/duties/:dutyKey/change',
    { config: forCoordinator, schema: { hide: true, params: ofDuty } },
    async (request, reply) => {
      const { duty, ...found } = await dutyOf(request, request.params);
      return formPage(reply, { ...found, before: duty, values: duty });
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/duties/:dutyKey/change',
    { config: forCoordinator, schema: { hide: true, params: ofDuty } },
    async (request, reply) => {
      const { duty, ...found } = await dutyOf(request, request.params);
      return takeForm(request, reply, { ...found, before: duty });
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/duties/:dutyKey/remove',
    { config: forCoordinator, schema: { hide: true, params: ofDuty } },
    async (request, reply) => {
      const { season, duty } = await dutyOf(request, request.params);
      const form = formOf(request.body);
      const change: RubricChange = { kind: 'remove', key: duty.key, seen: textOf(form.seen) };
      const problem = await make(request, season.id, change, noteFrom(form));
      const done = problem === undefined ? 'removed' : 'changed-meanwhile';
      return reply.redirect(`/seasons/${season.id}/rubric?done=${done}`, 303);
    },
  );
}

/** Cut at what is kept, never in the middle of a character. */
const noteFrom = (form: Form) => keepable(textOf(form.note).trim().slice(0, 500));

const doneNotices: Record<string, { tone: string; text: string }> = {
  begun: {
    tone: 'good',
    text: 'The rubric is begun. Look through what it expects of each position, change what your conference does otherwise, then confirm it.',
  },
  confirmed: { tone: 'good', text: 'The rubric is confirmed. It can still be changed at any time.' },
  added: { tone: 'good', text: 'The duty was added.' },
  changed: { tone: 'good', text: 'The duty was changed.' },
  removed: { tone: 'good', text: 'The duty was removed. Reports filed with it keep it.' },
  'changed-meanwhile': {
    tone: 'warn',
    text: 'The duty was changed by somebody else in the meantime, so it was not removed. Look at it again.',
  },
};

function dutiesOwedBy(duties: readonly Duty[], position: Position, crewSize: CrewSize) {
  const rubric = compileRubric(duties);
  const shares = sharesIn(rubric, fullCrew(crewSize));
  return duties.flatMap((duty, number) => {
    const own = shares[number]!.filter((share) => share.owedBy.includes(position));
    if (own.length === 0) return [];
    return [{ duty, coversFor: own.some((share) => share.named === position) ? undefined : own[0]!.named }];
  });
}

type Moved = SeasonPreview['standings'][number];

/** Where a weight moves somebody's place, or an adjusted grade by a tenth of a point and more. */
const movesPlace = (row: Moved) => row.now.place !== row.would.place;
const movesGrade = (row: Moved) => Math.abs((row.now.adjusted ?? 0) - (row.would.adjusted ?? 0)) >= 0.05;

const byPlace = (a: Moved, b: Moved) =>
  positions.indexOf(a.position) - positions.indexOf(b.position) ||
  (a.would.place ?? 999) - (b.would.place ?? 999);

/** Facts that `playInWords` says already. */
const inTheWords = new Set<Fact>(['kind', 'spot', 'quarter', 'clockSeconds', 'down', 'distance']);

function previewView(preview: SeasonPreview) {
  return {
    ...preview,
    perGame: preview.games === 0 ? null : preview.total.after / preview.games,
    exampleInWords: playInWords(preview.example),
    exampleFacts: loggedFacts(preview.example).filter(({ fact }) => !inTheWords.has(fact)),
    missingFacts: preview.missingFacts.slice(0, 4),
    examples: preview.examples.map((example, index) => ({ ...example, number: index + 1 })),
    byPosition: preview.byPosition.map((row) => ({
      ...row,
      changed: row.before !== row.after,
      perGame: preview.games === 0 ? null : row.after / preview.games,
    })),
    weightMoves: preview.standings.length > 0,
    rankMoves: preview.standings.filter(movesPlace).sort(byPlace),
    gradeMoves: preview.standings.filter((row) => !movesPlace(row) && movesGrade(row)).sort(byPlace),
  };
}
