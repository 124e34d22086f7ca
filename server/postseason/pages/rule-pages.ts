import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { ofSelection } from '../postseason-schemas.ts';
import { changeSchema, isAt, type Selection } from '../selection.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { changeSelection } from '../stores/selection-store.ts';
import { refusedIn } from './doing.ts';

const numbers = [
  'minimumGames',
  'minimumYears',
  'rulesTest',
  'recentWeeks',
  'mostLately',
  'mostGamesEach',
  'mostOfOneCrew',
] as const;
const boxes = ['fitness', 'standing', 'availability', 'ties', 'openInquiries'] as const;
const weights = ['chance', 'tier', 'rotation', 'travel'] as const;

/** A number as typed; empty is null, and what is none is left for the schema to refuse by name. */
const typedNumber = (text: string): number | null | string => {
  const trimmed = text.trim();
  if (trimmed === '') return null;
  const value = Number(trimmed.replace(',', '.'));
  return Number.isNaN(value) ? trimmed : value;
};

/** The form's fields as the API sends them. */
const fromForm = (form: Form): z.input<typeof changeSchema> =>
  ({
    title: textOf(form.title),
    answerBy: textOf(form.answerBy).trim() || null,
    embargoUntil: textOf(form.embargoUntil).trim().slice(0, 16) || null,
    revision: textOf(form.revision),
    rules: {
      ...Object.fromEntries(numbers.map((name) => [name, typedNumber(textOf(form[name]))])),
      ...Object.fromEntries(boxes.map((name) => [name, textOf(form[name]) === 'yes'])),
      notKnown: textOf(form.notKnown),
    },
    weights: Object.fromEntries(weights.map((name) => [name, typedNumber(textOf(form[`weight.${name}`]))])),
  }) as unknown as z.input<typeof changeSchema>;

const valuesOf = ({ title, answerBy, embargoUntil, revision, rules, weights: points }: Selection): Form =>
  Object.fromEntries(
    Object.entries({
      ...{ title, answerBy, embargoUntil, revision },
      ...Object.fromEntries(numbers.map((name) => [name, rules[name]])),
      ...Object.fromEntries(boxes.map((name) => [name, rules[name] ? 'yes' : ''])),
      notKnown: rules.notKnown,
      ...Object.fromEntries(weights.map((name) => [`weight.${name}`, points[name]])),
    }).map(([name, value]) => [name, value === null ? '' : String(value)]),
  );

/** A selection's title, days, rules and weights. */
export async function rulePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    selectionId: string,
    sent?: { form: Form; errors: FormErrors; refused?: string },
  ) {
    const selection = await readSelection(pool, sessionOf(request).conferenceId, selectionId);
    // What was typed stays; kept again, it is upon the newest revision.
    const values = sent ? { ...sent.form, revision: String(selection.revision) } : valuesOf(selection);
    return reply.page(
      'postseason/rules',
      {
        ...{ selection, values, errors: sent?.errors ?? {}, refused: sent?.refused },
        weights: { ...Object.fromEntries(weights.map((name) => [name, values[`weight.${name}`]])) },
        checked: Object.fromEntries(boxes.map((name) => [name, values[name] === 'yes'])),
        notKnown: [
          { id: 'leave out', name: 'leave them out of proposals', chosen: values.notKnown === 'leave out' },
          {
            id: 'take in',
            name: 'take them into proposals, shown as not known',
            chosen: values.notKnown === 'take in',
          },
        ],
        fixed: !isAt(selection, 'preparing'),
        voted: selection.state !== 'preparing',
      },
      { title: `Rules of ${selection.title}` },
    );
  }

  pages.get(
    '/postseason/:selectionId/rules',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => show(request, reply, request.params.selectionId),
  );

  pages.post(
    '/postseason/:selectionId/rules',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => {
      const { selectionId } = request.params;
      const form = formOf(request.body);
      const parsed = changeSchema.safeParse(fromForm(form));
      if (!parsed.success) {
        reply.code(400);
        return show(request, reply, selectionId, { form, errors: ruleErrors(parsed.error) });
      }
      try {
        await changeSelection(pool, sessionOf(request), selectionId, parsed.data);
        return reply.redirect(`/postseason/${selectionId}?done=kept`, 303);
      } catch (error) {
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        const fields = error instanceof Problem ? error.errors : [];
        const errors = Object.fromEntries(fields.map(({ field, message }) => [field, message]));
        return show(request, reply, selectionId, { form, errors, refused: sentence });
      }
    },
  );
}

/** Beside its field each: a rule's by its own name, a weight's with `weight.` before it. */
function ruleErrors(error: z.ZodError): FormErrors {
  const errors: FormErrors = {};
  for (const { path, message } of error.issues) {
    const name = path[0] === 'weights' ? `weight-${String(path[1])}` : String(path.at(-1));
    errors[name] ??= message;
  }
  return errors;
}
