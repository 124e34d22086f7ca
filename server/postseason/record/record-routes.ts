import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Printer } from '../../programs/outputs/printer.ts';
import { typedText } from '../../text/typed-text.ts';
import { ofSelection, tags } from '../postseason-schemas.ts';
import { selectionStates } from '../selection.ts';
import { openPoints } from './open-points.ts';
import { fingerprintOf } from './record-material.ts';
import { sendRecord } from './sending.ts';
import { closeSelection, whyNotClosable } from './stores/closing-store.ts';
import { type Recording, readRecordMaterial } from './stores/material.ts';
import { readRecordFile, readRecordKept } from './stores/record-store.ts';

const closingSchema = z.object({
  seen: z.string('send `seen` as it was read').max(64, 'send `seen` as it was read'),
  reason: typedText({ most: 2000 })
    .default('')
    .describe('Why it is closed with something left open; needed then, and ignored where nothing is.'),
});

const recordAnswer = z.object({
  state: z.enum(selectionStates),
  open: z.array(z.string()).describe('What is not settled, one sentence each.'),
  whyNot: z.string().nullable().describe('What stands in the way of closing, whatever is open.'),
  seen: z.string().describe('Of all that the record would say now; sent back with closing.'),
  record: z
    .object({
      sha256: z.string().describe('Of the bytes of record.pdf.'),
      kept: z.boolean().describe('False once the file is no longer kept.'),
      goneBecause: z
        .enum(['erasure', 'retention'])
        .nullable()
        .describe('Why it is not, where that is known.'),
      listed: z
        .boolean()
        .describe(
          'Whether it was kept whom it names; of one written before that, any erasure takes the file.',
        ),
      madeBy: z.uuid(),
      madeAt: z.string(),
    })
    .nullable()
    .describe('Null while the selection is not closed.'),
});

/** A selection's record and its closing, under /api. */
export function recordRoutes(printer: Pick<Printer, 'print'>) {
  return async (app: FastifyInstance): Promise<void> => {
    const api = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const config = { policy: policies.selectionOfConference };

    const answer = async (acting: Recording, selectionId: string): Promise<z.output<typeof recordAnswer>> => {
      const material = await readRecordMaterial(pool, acting, selectionId);
      const kept = await readRecordKept(pool, acting.conferenceId, selectionId);
      return {
        state: material.selection.state,
        open: openPoints(material),
        whyNot: whyNotClosable(material.selection),
        seen: fingerprintOf(material),
        record: kept && {
          ...{
            sha256: kept.sha256,
            kept: kept.kept,
            goneBecause: kept.goneBecause,
            madeBy: kept.madeBy,
            listed: kept.listed,
          },
          madeAt: kept.madeAt.toISOString(),
        },
      };
    };

    api.get(
      '/api/selections/:selectionId/record',
      {
        config,
        schema: {
          tags,
          summary: 'A selection’s record: whether there is one, its hash, and what is still open',
          params: ofSelection,
          response: { 200: recordAnswer },
        },
      },
      async (request) => answer(sessionOf(request), request.params.selectionId),
    );

    api.get(
      '/api/selections/:selectionId/record.pdf',
      {
        config,
        schema: {
          tags,
          summary: 'The record of a closed selection, as PDF',
          description: 'The header Repr-Digest (RFC 9530) gives its SHA-256.',
          params: ofSelection,
        },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const { pdf, ...of } = await readRecordFile(pool, conferenceId, request.params.selectionId);
        return sendRecord(reply, pdf, of);
      },
    );

    api.post(
      '/api/selections/:selectionId/close',
      {
        config,
        schema: {
          tags,
          summary: 'Close a selection: its record is written, and it can only be read from then on',
          description:
            'It is not reopened. With something left open it needs a reason, which the record says.',
          params: ofSelection,
          body: closingSchema,
          response: { 200: recordAnswer },
        },
      },
      async (request) => {
        const { selectionId } = request.params;
        await closeSelection(database, sessionOf(request), selectionId, request.body, (document) =>
          printer.print(document, 'Letter'),
        );
        return answer(sessionOf(request), selectionId);
      },
    );
  };
}
