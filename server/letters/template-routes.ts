import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { refuseUnknownSeasons } from '../schedule/seasons.ts';
import { exactText } from '../text/typed-text.ts';
import { templateKinds } from './letter-data.ts';
import { tags } from './letter-schemas.ts';
import { templateContracts } from './plots.ts';
import { sendPdf } from './send-pdf.ts';
import { checkTemplate, fieldsOf, notTold } from './template-check.ts';
import {
  longestTemplate,
  readTemplate,
  refuseWrong,
  saveTemplate,
  templateVersions,
} from './template-store.ts';

const kindAddress = z.object({ kind: z.enum(templateKinds) });
const templateProblem = z.object({ line: z.int(), column: z.int(), message: z.string() });
const previewBody = z.object({
  body: exactText({ most: longestTemplate }),
  seasonId: z.uuid(),
  personId: z.uuid().nullable().default(null),
});
const templateBody = z.object({ body: exactText({ most: longestTemplate }) });

/** Templates of letters: versions, checks, previews. */
export async function templateRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const coordinator = { policy: policies.coordinator };
  const { templatePreviews: previews } = app;
  refuseUnknownSeasons(app);

  routes.get(
    '/api/letter-templates/:kind',
    {
      config: coordinator,
      schema: { summary: 'The template that letters of a kind are written by', tags, params: kindAddress },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { kind } = request.params;
      const template = await readTemplate(app.database, conferenceId, kind);
      return {
        ...template,
        notTold: notTold(template.body, templateContracts[kind]),
        versions: await templateVersions(app.database, conferenceId, kind),
        fields: fieldsOf(templateContracts[kind].data),
      };
    },
  );

  routes.put(
    '/api/letter-templates/:kind',
    {
      config: coordinator,
      schema: {
        summary: 'Change the template that letters of a kind are written by',
        tags,
        params: kindAddress,
        body: templateBody,
        response: { 200: z.object({ version: z.int() }) },
      },
    },
    async (request) => {
      const { kind } = request.params;
      const { body } = request.body;
      const problems = await app.checkedTemplate(sessionOf(request), kind, body);
      return { version: await saveTemplate(pool, sessionOf(request), kind, body, problems) };
    },
  );

  routes.post(
    '/api/letter-templates/:kind/check',
    {
      config: coordinator,
      schema: {
        summary: 'What is wrong with a template, each at its line',
        tags,
        params: kindAddress,
        body: templateBody,
        response: { 200: z.object({ problems: z.array(templateProblem) }) },
      },
    },
    async (request) => ({
      problems: await app.checkedTemplate(sessionOf(request), request.params.kind, request.body.body),
    }),
  );

  routes.post(
    '/api/letter-templates/:kind/preview',
    {
      config: coordinator,
      schema: {
        summary: 'What a template would give, as HTML',
        tags,
        params: kindAddress,
        body: previewBody,
        response: { 200: z.object({ problems: z.array(templateProblem), html: z.string().nullable() }) },
      },
    },
    async (request) => {
      const { kind } = request.params;
      const problems = await app.letterWriter.check(kind, request.body.body);
      if (problems.length > 0) return { problems, html: null };
      const data = await previews.data(sessionOf(request), { kind, ...request.body });
      return app.letterWriter.html(kind, request.body.body, data);
    },
  );

  routes.post(
    '/api/letter-templates/:kind/preview.pdf',
    {
      config: coordinator,
      schema: { summary: 'What a template would give, as PDF', tags, params: kindAddress, body: previewBody },
    },
    async (request, reply) => {
      const { kind } = request.params;
      const { body } = request.body;
      refuseWrong(body, checkTemplate(body, templateContracts[kind]));
      const data = await previews.data(sessionOf(request), { kind, ...request.body });
      const { pdf } = await app.letterWriter.pdf(kind, body, data);
      return sendPdf(reply, pdf, 'preview.pdf');
    },
  );
}
