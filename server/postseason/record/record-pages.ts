import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Printer } from '../../programs/outputs/printer.ts';
import { formOf, textOf } from '../../web/form.ts';
import { conflict } from '../../web/problem.ts';
import { stateTone } from '../candidate-words.ts';
import { refusedIn } from '../pages/doing.ts';
import { ofSelection } from '../postseason-schemas.ts';
import { recordDocument } from './document/record-document.ts';
import { openPoints } from './open-points.ts';
import { fingerprintOf, nameIn } from './record-material.ts';
import { sendRecord } from './sending.ts';
import { closedForGood, closeSelection, whyNotClosable } from './stores/closing-store.ts';
import { readRecordMaterial } from './stores/material.ts';
import { readRecordFile, readRecordKept } from './stores/record-store.ts';

const whyGone = {
  erasure: 'Its file went when the data of somebody whom it names was erased.',
  retention: 'Its file went with time, by the conference’s rules on how long data is kept.',
  'not told': 'Its file is no longer kept, as the conference’s rules on keeping data or an erasure ask.',
} as const;
const unlisted = {
  kept: 'It was written before it was kept whom a record names, so that the erasure of anybody’s data takes its file. Keep a copy elsewhere.',
  gone: 'Its file went when somebody’s data was erased. It was written before it was kept whom a record names, so that it was taken to name them.',
} as const;

/** A selection's record: a draft of it, closing with what is still open, and the record itself with its hash. */
export function recordPages(printer: Pick<Printer, 'print'>) {
  return async (app: FastifyInstance): Promise<void> => {
    const pages = app.withTypeProvider<ZodTypeProvider>();
    const { pool } = app.database;
    const config = { policy: policies.selectionOfConference };
    const print = (document: Parameters<Printer['print']>[0]) => printer.print(document, 'Letter');

    async function show(
      request: FastifyRequest,
      reply: FastifyReply,
      selectionId: string,
      page: 'record' | 'record-close',
      told: { refused?: string; reason?: string } = {},
    ) {
      const session = sessionOf(request);
      const material = await readRecordMaterial(pool, session, selectionId);
      const kept = await readRecordKept(pool, session.conferenceId, selectionId);
      const { selection } = material;
      const open = openPoints(material);
      return reply.page(
        `postseason/${page}`,
        {
          ...{ selection, open, timeZone: session.timeZone, closedForGood, ...told },
          tone: stateTone[selection.state],
          isClosed: selection.state === 'closed',
          whyNot: whyNotClosable(selection),
          seen: fingerprintOf(material),
          unanswered: material.offers.some(({ answer }) => answer === null),
          record: kept && {
            ...kept,
            gone:
              !kept.listed && kept.goneBecause === 'erasure'
                ? unlisted.gone
                : whyGone[kept.goneBecause ?? 'not told'],
            unlisted: kept.listed ? null : unlisted.kept,
            by: nameIn(material, kept.madeBy),
            closed: kept.kept ? closedForGood : 'A closed selection is not reopened: it can be read.',
            size: kept.bytes === null ? '' : `${Math.max(1, Math.round(kept.bytes / 1000))} kB`,
          },
        },
        { title: `${page === 'record' ? 'Record' : 'Close'}, ${selection.title}`, width: 'wide' },
      );
    }

    pages.get(
      '/postseason/:selectionId/record',
      { config, schema: { hide: true, params: ofSelection } },
      async (request, reply) => show(request, reply, request.params.selectionId, 'record'),
    );

    pages.get(
      '/postseason/:selectionId/record.pdf',
      { config, schema: { hide: true, params: ofSelection } },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const { pdf, ...of } = await readRecordFile(pool, conferenceId, request.params.selectionId);
        return sendRecord(reply, pdf, of);
      },
    );

    pages.get(
      '/postseason/:selectionId/record-draft.pdf',
      { config, schema: { hide: true, params: ofSelection } },
      async (request, reply) => {
        const material = await readRecordMaterial(pool, sessionOf(request), request.params.selectionId);
        const { title, state } = material.selection;
        if (state === 'closed')
          throw conflict(`${title} is closed: there is its record, and no draft of it any more.`);
        const pdf = await print(recordDocument(material, null, new Date()));
        return sendRecord(reply, pdf, { title, sha256: null });
      },
    );

    pages.get(
      '/postseason/:selectionId/close',
      { config, schema: { hide: true, params: ofSelection } },
      async (request, reply) => show(request, reply, request.params.selectionId, 'record-close'),
    );

    pages.post(
      '/postseason/:selectionId/close',
      { config, schema: { hide: true, params: ofSelection } },
      async (request, reply) => {
        const { selectionId } = request.params;
        const form = formOf(request.body);
        const reason = textOf(form.reason).trim().slice(0, 2000);
        try {
          const typed = { seen: textOf(form.seen), reason };
          await closeSelection(app.database, sessionOf(request), selectionId, typed, print);
        } catch (error) {
          const { status, sentence } = refusedIn(error);
          reply.code(status);
          return show(request, reply, selectionId, 'record-close', { refused: sentence, reason });
        }
        return reply.redirect(`/postseason/${selectionId}/record`, 303);
      },
    );
  };
}
