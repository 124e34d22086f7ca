import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import type { Duty } from '../../duties/duty.ts';
import { checkDuty, type Refusal } from '../../duties/refusals.ts';
import { changeRubric, type RubricChange } from '../../rubric/change-duty.ts';
import { dutyFingerprint } from '../../rubric/fingerprints.ts';
import { RubricChangedMeanwhile, RubricChangeRefused } from '../../rubric/refusals.ts';
import type { Rubric } from '../../rubric/rubric.ts';
import { formOf, textOf } from '../../web/form.ts';
import { blankDuty, dutyFormView, dutyFromForm } from '../duty-form.ts';
import { previewOnSeason, type SeasonPreview } from '../season-preview.ts';
import { previewView } from './preview-view.ts';
import { dutyOf, noteFrom, ofDuty, ofSeason, rubricOf, sendToBegin } from './shown-rubric.ts';

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

/** Adding a duty, changing and removing one; what it would do is shown before it is saved. */
export async function dutyFormPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const forCoordinator = { policy: policies.coordinator };
  sendToBegin(app);

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
      const found = await rubricOf(database, request, request.params.seasonId);
      return formPage(reply, { ...found, before: undefined, values: blankDuty });
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/add',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const found = await rubricOf(database, request, request.params.seasonId);
      return takeForm(request, reply, { ...found, before: undefined });
    },
  );

  pages.get(
    '/seasons/:seasonId/rubric/duties/:dutyKey/change',
    { config: forCoordinator, schema: { hide: true, params: ofDuty } },
    async (request, reply) => {
      const { duty, ...found } = await dutyOf(database, request, request.params);
      return formPage(reply, { ...found, before: duty, values: duty });
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/duties/:dutyKey/change',
    { config: forCoordinator, schema: { hide: true, params: ofDuty } },
    async (request, reply) => {
      const { duty, ...found } = await dutyOf(database, request, request.params);
      return takeForm(request, reply, { ...found, before: duty });
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/duties/:dutyKey/remove',
    { config: forCoordinator, schema: { hide: true, params: ofDuty } },
    async (request, reply) => {
      const { season, duty } = await dutyOf(database, request, request.params);
      const form = formOf(request.body);
      const change: RubricChange = { kind: 'remove', key: duty.key, seen: textOf(form.seen) };
      const problem = await make(request, season.id, change, noteFrom(form));
      const done = problem === undefined ? 'removed' : 'changed-meanwhile';
      return reply.redirect(`/seasons/${season.id}/rubric?done=${done}`, 303);
    },
  );
}
