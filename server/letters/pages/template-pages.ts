import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { refuseUnknownSeasons, seasonInView } from '../../schedule/seasons.ts';
import { exactText, typedText } from '../../text/typed-text.ts';
import { Problem } from '../../web/problem.ts';
import { largestInteger, wholeNumber } from '../../web/whole-number.ts';
import { kindTitles } from '../kind-titles.ts';
import { templateKinds } from '../letter-data.ts';
import { letterLines } from '../letter-lines.ts';
import { templateContracts } from '../plots.ts';
import { fieldsOf, notTold } from '../template-check.ts';
import type { TemplateProblem } from '../template-problem.ts';
import { longestTemplate, readTemplate, saveTemplate, templateVersions } from '../template-store.ts';
import { wording } from '../wording.ts';

/** Letter templates: looking at versions, changing one. */
export async function templatePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const coordinator = { policy: policies.coordinator };
  refuseUnknownSeasons(app);

  const templateAddress = z.object({ kind: z.enum(templateKinds) });

  pages.get(
    '/letter-templates/:kind',
    {
      config: coordinator,
      schema: {
        hide: true,
        params: templateAddress,
        querystring: z.object({
          version: wholeNumber('version', 0, largestInteger).optional(),
          done: typedText({ most: 200 }).optional(),
        }),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { version, done } = request.query;
      const template = await readTemplate(database, conferenceId, request.params.kind, version ?? null);
      return reply.page(
        'letters/template',
        await templateView(request, request.params.kind, template.body, [], {
          version: template.version,
          done,
        }),
        {
          title: `Template, ${kindTitles[request.params.kind]}`,
          width: 'wide',
          scripts: ['letter-template'],
        },
      );
    },
  );

  pages.post(
    '/letter-templates/:kind',
    {
      config: coordinator,
      schema: {
        hide: true,
        params: templateAddress,
        body: z.object({ body: exactText({ most: longestTemplate }) }),
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { kind: chosen } = request.params;
      // Forms send lines with CR LF (HTML, "multipart and urlencoded form data").
      const body = request.body.body.replace(/\r\n/g, '\n');
      const problems = await app.checkedTemplate(session, chosen, body);
      try {
        const version = await saveTemplate(pool, session, chosen, body, problems);
        return reply.redirect(
          `/letter-templates/${chosen}?done=${encodeURIComponent(`Kept as version ${version}.`)}`,
          303,
        );
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 400) throw error;
        const empty = { line: 1, column: 1, message: 'The template is empty.' };
        return reply.code(400).page(
          'letters/template',
          await templateView(request, chosen, body, problems.length > 0 ? problems : [empty], {
            version: null,
            done: undefined,
          }),
          { title: `Template, ${kindTitles[chosen]}`, width: 'wide', scripts: ['letter-template'] },
        );
      }
    },
  );

  async function templateView(
    request: FastifyRequest,
    chosen: (typeof templateKinds)[number],
    body: string,
    problems: TemplateProblem[],
    { version, done }: { version: number | null; done: string | undefined },
  ) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonInView(database, request);
    const versions = await templateVersions(database, conferenceId, chosen);
    return {
      season,
      kind: chosen,
      title: kindTitles[chosen],
      body,
      problems,
      version,
      done,
      notTold: notTold(body, templateContracts[chosen]),
      newest: version === versions[0]?.version,
      versions: versions.map((one) => ({ ...one, here: one.version === version })),
      tabs: templateKinds.map((name) => ({ name, title: kindTitles[name], here: name === chosen })),
      officials: season ? await letterLines(pool, conferenceId, season.id, 'end-of-season') : [],
      fields: fieldsOf(templateContracts[chosen].data),
      words: Object.entries(wording).map(([name, word]) => ({ name, does: word.does })),
    };
  }
}
