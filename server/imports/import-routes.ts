import { STATUS_CODES } from 'node:http';
import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { Refusal } from '../accounts/refusal.ts';
import { typedText } from '../text/typed-text.ts';
import { Problem } from '../web/problem.ts';
import { answersTo, type QuestionName, questionNames } from './csv/questions.ts';
import { fileKindNamed, fileKinds } from './files/index.ts';
import { staffFormat } from './files/staff.ts';
import { checkFiles, importFile } from './import-file.ts';
import type { ImportOutcome } from './import-outcome.ts';
import { fromFile, largestFile } from './uploads.ts';

const contentTypes = [
  'text/csv',
  'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
] as const;

const kindNames = fileKinds.map((kind) => kind.format.name) as [string, ...string[]];

const outcomeSchema = z.object({
  kind: z.string(),
  fileName: z.string(),
  applied: z.boolean().describe('Whether the file is in the database now: all of it or none.'),
  fits: z.boolean().describe('Whether nothing is wrong with the file and nothing is left to answer.'),
  questions: z
    .array(
      z.object({
        name: z.enum(questionNames as [QuestionName, ...QuestionName[]]),
        asks: z.string(),
        example: z.string(),
        answers: z.array(z.object({ answer: z.string(), words: z.string() })),
        count: z.number().int(),
        lines: z.array(z.number().int()),
      }),
    )
    .describe('What only the person who made the file can say: send the answer as the parameter `name`.'),
  readAs: z
    .discriminatedUnion('form', [
      z.object({
        form: z.literal('text'),
        encoding: z.enum(['UTF-8', 'Windows-1252', 'UTF-16 LE', 'UTF-16 BE']),
        byteOrderMark: z.boolean(),
        separator: z.enum(['comma', 'semicolon', 'tab']),
        example: z
          .string()
          .optional()
          .describe('A word that reads right only if the encoding was guessed right.'),
      }),
      z.object({ form: z.literal('workbook'), sheet: z.string(), otherSheets: z.array(z.string()) }),
    ])
    .describe('How the file was read; found out from the file.'),
  notes: z
    .array(z.object({ text: z.string(), lines: z.array(z.number().int()), count: z.number().int() }))
    .describe('What is no error, but good to know: columns that were skipped, lines that repeat another.'),
  rows: z.number().int().describe('Lines read without a problem of their own.'),
  added: z.number().int(),
  changed: z.number().int(),
  unchanged: z.number().int(),
  problems: z
    .array(
      z.object({
        line: z.number().int().describe('Counted from 1; 0 means the whole file.'),
        column: z.string(),
        value: z.string(),
        problem: z.string(),
        fix: z.string(),
      }),
    )
    .describe('At most 200, in the order of lines.'),
  moreProblems: z.number().int(),
  problemGroups: z
    .array(
      z.object({
        column: z.string(),
        problem: z.string(),
        fix: z.string(),
        count: z.number().int(),
        values: z
          .array(z.object({ value: z.string(), count: z.number().int(), lines: z.array(z.number().int()) }))
          .describe('The first 20 different values, each with its first 1000 lines.'),
        otherValues: z.number().int().describe('Lines with yet other values.'),
      }),
    )
    .describe('The same problems by what is wrong; at most 200 groups, in the order of their first lines.'),
  playLogsChanged: z.array(z.string()).describe('Ids of games whose play log is another now.'),
  recounted: z.array(
    z.object({
      game: z.string(),
      observer: z.string(),
      before: z.number().int(),
      after: z.number().int(),
    }),
  ),
});

const problemSchema = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number().int(),
  detail: z.string(),
  outcome: outcomeSchema,
});

/** Import of files by API, for the coordinator. */
export async function importRoutes(app: FastifyInstance): Promise<void> {
  // The body of an upload is read as it comes, not collected.
  app.addContentTypeParser([...contentTypes], (_request, payload, done) => done(null, payload));
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  routes.post(
    '/api/imports/:kind',
    {
      config: { policy: policies.coordinator, judgesBody: true },
      bodyLimit: largestFile,
      schema: {
        summary: 'Import one file, all of it or nothing, or only check it',
        description:
          'The body is the file, as text/csv (RFC 4180) or as a workbook (XLSX), of which the sheet named like the kind is read, else the first. Separator (comma, semicolon, tab) and encoding (UTF-8, Windows-1252, UTF-16) are found out and told in `readAs`. Sending a file again changes nothing; a changed line updates. When anything is wrong, nothing is imported and 422 lists every problem with line, column, value and fix; so does a file that leaves a question open, until it is answered by a parameter. With `check=true` nothing is imported, and the answer tells what would be added, changed and unchanged. A token imports no staff, since that gives roles (403); it may check.',
        tags: ['import'],
        consumes: [...contentTypes],
        params: z.object({ kind: z.enum(kindNames) }),
        querystring: z.object({
          fileName: typedText({ most: 200 }).optional(),
          check: z.stringbool().default(false).describe('Only tell what importing would do.'),
          dates: z.enum(answersTo('dates')).optional().describe('The order of dates such as 9/5/2026.'),
          left: z
            .enum(answersTo('left'))
            .optional()
            .describe('Which side of the field is “left” in a play log.'),
        }),
        response: { 200: outcomeSchema, 422: problemSchema },
      },
    },
    async (request, reply) => {
      const kind = fileKindNamed(request.params.kind)!;
      const body = request.body as Readable | null | undefined;
      if (body === null || body === undefined || typeof body[Symbol.asyncIterator] !== 'function') {
        throw new Problem(
          415,
          'Neither a CSV file nor a workbook',
          'Send the file as the body, with the content type text/csv, or that of an XLSX workbook.',
        );
      }
      const { conferenceId, personId, token } = sessionOf(request);
      const by = { conferenceId, personId };
      const { fileName = `${kind.format.name}.csv`, check, ...answers } = request.query;
      if (token && !check && kind.format.name === staffFormat.name) throw staffByToken();
      const outcome = await fromFile(body, async (open) => {
        const file = { kind, fileName, open, answers };
        return check ? (await checkFiles(pool, by, [file]))[0]! : importFile(pool, by, file);
      });
      if (outcome.fits) return outcome;
      return reply
        .code(422)
        .type('application/problem+json')
        .send({
          type: 'about:blank',
          title: STATUS_CODES[422]!,
          status: 422,
          detail: `${check ? 'Nothing would be imported.' : 'Nothing was imported.'} ${whatIsInTheWay(outcome)}`,
          outcome,
        });
    },
  );
}

/** Whoever is in it with a role is let in: a token that was stolen would make coordinators, and outlive itself. */
const staffByToken = () =>
  new Refusal(
    403,
    'A file of staff gives and takes roles, which no token may do: a coordinator imports it on the Import page. With check=true a token is told what it would change.',
  );

function whatIsInTheWay({ fileName, problems, moreProblems, questions }: ImportOutcome): string {
  const count = problems.length + moreProblems;
  const sentences = count === 0 ? [] : [`${fileName} has ${count} ${count === 1 ? 'problem' : 'problems'}.`];
  for (const { name, asks, answers } of questions) {
    const choices = answers.map(({ answer }) => answer).join(' or ');
    sentences.push(`${asks} Send ${name}=${choices}.`);
  }
  return sentences.join(' ');
}
