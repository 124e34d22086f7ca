import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { typedText } from '../../text/typed-text.ts';
import { type Form, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { type Mapping, mappingSchema } from '../mapping/mapping.ts';
import { mappingFromForm } from '../mapping/mapping-form.ts';
import { fileOfMapping, mappingInWords } from '../mapping/mapping-in-words.ts';
import {
  deleteMapping,
  type KeptMapping,
  keepMapping,
  keptMapping,
  keptMappings,
} from '../mapping/mapping-store.ts';
import { mappingView } from '../mapping/mapping-view.ts';

const ofMapping = z.object({ mappingId: z.uuid() });
const mappingName = typedText({ least: 1, most: 100, tooLong: 'Write at most 100 characters.' });

/** The mappings that the conference keeps: looked at, changed, renamed, deleted. */
export async function logMappingPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  pages.get('/log-mappings', { config, schema: { hide: true } }, async (request, reply) => {
    const { conferenceId, timeZone } = sessionOf(request);
    const kept = await keptMappings(pool, conferenceId);
    const view = {
      timeZone,
      kept: kept.map((one) => ({ ...one, inWords: mappingInWords(one.mapping), width: one.columns.length })),
      notice: { kept: 'Kept.', deleted: 'Deleted.' }[textOf(formOf(request.query).done)],
    };
    return reply.page('imports/log-mappings', view, { title: 'Play logs from elsewhere' });
  });

  const editPage = (
    reply: FastifyReply,
    kept: KeptMapping,
    mapping: Mapping,
    form?: Form,
    errors: Record<string, string> = {},
  ) => {
    const view = {
      kept,
      name: form ? textOf(form.name) : kept.name,
      editing: true,
      errors,
      ...mappingView(fileOfMapping(kept.columns, mapping), mapping, undefined),
    };
    return reply.page('imports/log-mapping-edit', view, {
      title: kept.name,
      width: 'wide',
      scripts: ['log-mapping'],
    });
  };

  pages.get(
    '/log-mappings/:mappingId',
    { config, schema: { hide: true, params: ofMapping } },
    async (request, reply) => {
      const kept = await keptMapping(pool, sessionOf(request).conferenceId, request.params.mappingId);
      return editPage(reply, kept, kept.mapping);
    },
  );

  pages.post(
    '/log-mappings/:mappingId',
    { config, schema: { hide: true, params: ofMapping } },
    async (request, reply) => {
      const acting = sessionOf(request);
      const kept = await keptMapping(pool, acting.conferenceId, request.params.mappingId);
      const form = formOf(request.body);
      const file = fileOfMapping(kept.columns, kept.mapping);
      const mapping = mappingSchema.parse({
        ...mappingFromForm(form, file, kept.mapping),
        headings: kept.mapping.headings,
      });
      if (textOf(form.act) !== 'keep') return editPage(reply, kept, mapping, form);
      const name = mappingName.safeParse(textOf(form.name));
      if (!name.success) {
        const message = textOf(form.name).trim() === '' ? 'Give it a name.' : name.error.issues[0]!.message;
        return editPage(reply.code(422), kept, mapping, form, { name: message });
      }
      try {
        await inTransaction(pool, (client) =>
          keepMapping(client, acting, { id: kept.id, name: name.data, columns: kept.columns, mapping }),
        );
      } catch (error) {
        return editPage(reply.code(409), kept, mapping, form, fieldErrors(error));
      }
      return reply.redirect('/log-mappings?done=kept', 303);
    },
  );

  pages.post(
    '/log-mappings/:mappingId/deletion',
    { config, schema: { hide: true, params: ofMapping } },
    async (request, reply) => {
      await inTransaction(pool, (client) =>
        deleteMapping(client, sessionOf(request), request.params.mappingId),
      );
      return reply.redirect('/log-mappings?done=deleted', 303);
    },
  );
}
