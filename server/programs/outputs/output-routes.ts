import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { LetterDocument } from '../../letters/document-tree.ts';
import { paperQuery } from '../../letters/letter-schemas.ts';
import { csvChoice, sendCsv } from '../../web/csv-file.ts';
import type { Edition } from '../edition.ts';
import { placesOfEdition } from '../edition-places.ts';
import { editionAddress } from '../edition-routes.ts';
import { tags } from '../program-answer.ts';
import { readEdition } from '../stores/edition-store.ts';
import { readMadeReel } from '../stores/made-reel.ts';
import { cueSheetCsv } from './cue-sheet.ts';
import { cueSheetDocument } from './cue-sheet-document.ts';
import { handoutDocument } from './handout-document.ts';
import type { Printer } from './printer.ts';
import { questionDocument } from './question-document.ts';
import { scriptDocument } from './script-document.ts';

const sources = z
  .stringbool()
  .default(false)
  .describe('Also game, week and film time of each play, for whoever cuts the film: not to be handed out.');
const nobody = 'It names no official, crew, team or game, nor does its name or what it says of itself.';

/** What goes with an edition on paper and for the cutting room; for the coordinator. */
export function outputRoutes(printer: Printer) {
  return async (app: FastifyInstance): Promise<void> => {
    const routes = app.withTypeProvider<ZodTypeProvider>();
    const config = { policy: policies.coordinator };
    const at = '/api/training-programs/:programId/editions/:number';
    const editionOf = (conferenceId: string, { programId, number }: z.output<typeof editionAddress>) =>
      readEdition(app.database.pool, conferenceId, programId, number);
    const placesOf = async (conferenceId: string, edition: Edition) =>
      placesOfEdition(edition, await readMadeReel(app.database.pool, conferenceId, edition));
    const send = async (
      reply: FastifyReply,
      document: LetterDocument,
      name: string,
      paper: 'Letter' | 'A4',
    ) =>
      reply
        .type('application/pdf')
        .header('cache-control', 'private, no-store')
        .header('content-disposition', `inline; filename="${name}.pdf"`)
        .send(await printer.print(document, paper));
    const named = (what: string, { number }: Edition) => `training-${what}-edition-${number}`;

    routes.get(
      `${at}/cue-sheet.csv`,
      {
        config,
        schema: {
          tags,
          summary: 'The plays of an edition in order with their times, as CSV',
          description: `${nobody} Without \`sources\`, that is. Times are those of the newest reel that was made of it, else as planned; \`times\` says which.`,
          params: editionAddress,
          querystring: z.object({ sources, ...csvChoice }),
        },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const edition = await editionOf(conferenceId, request.params);
        const places = await placesOf(conferenceId, edition);
        const text = cueSheetCsv(edition, places, request.query.sources);
        return sendCsv(reply, named('cue-sheet', edition), text, request.query);
      },
    );

    routes.get(
      `${at}/cue-sheet.pdf`,
      {
        config,
        schema: {
          tags,
          summary: 'The cue sheet of an edition, as PDF',
          description: `${nobody} Without \`sources\`, that is. What lacks film is listed.`,
          params: editionAddress,
          querystring: paperQuery.extend({ sources }),
        },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const edition = await editionOf(conferenceId, request.params);
        const places = await placesOf(conferenceId, edition);
        const document = cueSheetDocument(edition, places, request.query.sources);
        return send(reply, document, named('cue-sheet', edition), request.query.paper);
      },
    );

    routes.get(
      `${at}/script.pdf`,
      {
        config,
        schema: {
          tags,
          summary: 'What is said over each play of an edition, with reading time against length, as PDF',
          description: nobody,
          params: editionAddress,
          querystring: paperQuery,
        },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const edition = await editionOf(conferenceId, request.params);
        const places = await placesOf(conferenceId, edition);
        return send(reply, scriptDocument(edition, places), named('script', edition), request.query.paper);
      },
    );

    routes.get(
      `${at}/questions.pdf`,
      {
        config,
        schema: {
          tags,
          summary: 'The questions of an edition on a sheet, as PDF',
          description: nobody,
          params: editionAddress,
          querystring: paperQuery.extend({
            answers: z.stringbool().default(false).describe('With what is right, for whoever leads.'),
          }),
        },
      },
      async (request, reply) => {
        const edition = await editionOf(sessionOf(request).conferenceId, request.params);
        const { answers, paper } = request.query;
        const what = answers ? 'questions-with-answers' : 'questions';
        return send(reply, questionDocument(edition, answers), named(what, edition), paper);
      },
    );

    routes.get(
      `${at}/handout.pdf`,
      {
        config,
        schema: {
          tags,
          summary: 'Key points of an edition to take home, signals in words, as PDF',
          description: nobody,
          params: editionAddress,
          querystring: paperQuery,
        },
      },
      async (request, reply) => {
        const edition = await editionOf(sessionOf(request).conferenceId, request.params);
        return send(reply, handoutDocument(edition), named('key-points', edition), request.query.paper);
      },
    );
  };
}
