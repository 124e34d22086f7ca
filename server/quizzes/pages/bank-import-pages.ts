import multipart from '@fastify/multipart';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { formOf, textOf } from '../../web/form.ts';
import { bankFormat, mostInFile, type ReadBank, readBank } from '../bank-file.ts';
import { questionSchema } from '../rules/question.ts';
import { type Taken, takeQuestions } from '../stores/bank-store.ts';

const largestFile = 4 * 1024 * 1024;
const title = 'Questions from a file';

/** Questions from a file: all of it, or what is good of it where the coordinator says so. */
export async function bankImportPages(app: FastifyInstance): Promise<void> {
  await app.register(multipart, { limits: { fileSize: largestFile, files: 1, fields: 4 } });
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const columns = Object.values(bankFormat.columns);
  const view = (told: { read?: ReadBank; taken?: Taken; refused?: string } = {}) => ({
    columns,
    ...told,
    wrong: told.read !== undefined,
    goods: told.read?.good.length ?? 0,
    kept: told.read && told.read.good.length > 0 ? JSON.stringify(told.read.good) : undefined,
  });

  pages.get('/quiz-questions/import', { config, schema: { hide: true } }, async (_request, reply) =>
    reply.page('quizzes/import', view(), { title, width: 'wide' }),
  );

  pages.post('/quiz-questions/import', { config, schema: { hide: true } }, async (request, reply) => {
    const refuse = (refused: string) =>
      reply.code(400).page('quizzes/import', view({ refused }), { title, width: 'wide' });
    const file = await request.file().catch(() => undefined);
    if (!file || file.filename === '') return refuse('No file was chosen. Choose one and import it.');
    const read = await readBank(file.file);
    if (file.file.truncated) return refuse('The file is larger than 4 MB. Split it into several files.');
    if (read.problems.length > 0)
      return reply.code(422).page('quizzes/import', view({ read }), { title, width: 'wide' });
    if (read.good.length === 0) return refuse('The file has no question below its headings.');
    const taken = await takeQuestions(pool, sessionOf(request), read.good);
    return reply.page('quizzes/import', view({ taken }), { title, width: 'wide' });
  });

  pages.post(
    '/quiz-questions/import/good',
    { config, bodyLimit: 2 * largestFile, schema: { hide: true } },
    async (request, reply) => {
      const good = goodOnes(textOf(formOf(request.body).good));
      if (good === null)
        return reply
          .code(400)
          .page('quizzes/import', view({ refused: 'Choose the file again: what was read of it is gone.' }), {
            title,
            width: 'wide',
          });
      const taken = await takeQuestions(pool, sessionOf(request), good);
      return reply.page('quizzes/import', view({ taken }), { title, width: 'wide' });
    },
  );
}

function goodOnes(sent: string) {
  try {
    return z.array(questionSchema).min(1).max(mostInFile).safeParse(JSON.parse(sent)).data ?? null;
  } catch {
    return null;
  }
}
