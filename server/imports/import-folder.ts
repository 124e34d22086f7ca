/**
 * `npm run import -- FOLDER [--conference NAME] [--open-season NAME] [--check]
 * [--dates day-first|month-first] [--left SIDE]`: imports the CSV files and workbooks of a folder, or only checks them. The first
 * season of a conference is opened by its files; a later one by a coordinator, or here by `--open-season`.
 */
import { createReadStream } from 'node:fs';
import { readdir } from 'node:fs/promises';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { readConfig } from '../config.ts';
import { type Database, openDatabase } from '../database/database.ts';
import { startEmbeddedPostgres } from '../database/embedded.ts';
import { StartupError } from '../database/startup-error.ts';
import { inTransaction } from '../database/transaction.ts';
import { openSeason } from '../schedule/season-states.ts';
import { seasonNamed } from '../schedule/seasons.ts';
import { type Answer, type Answers, answersTo, questionNames } from './csv/questions.ts';
import { fileKindOfFileName, fileKinds } from './files/index.ts';
import type { FileToImport } from './import-file.ts';
import { importFiles } from './import-files.ts';
import type { ImportOutcome } from './import-outcome.ts';
import { linesInWords, readInWords, whereInWords } from './lines-in-words.ts';

const say = (line: string) => process.stdout.write(`${line}\n`);

const known = fileKinds.map((kind) => `${kind.format.name}.csv`).join(', ');

/** The files of a folder that are imports, and the names of other files that look like some. */
async function filesIn(
  folder: string,
  answers: Answers,
): Promise<{ files: FileToImport[]; unknown: string[] }> {
  const names = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    throw new StartupError(`The folder ${folder} cannot be read (${error.code}).`);
  });
  const files: FileToImport[] = [];
  const unknown: string[] = [];
  for (const name of names.filter((candidate) => /\.(csv|tsv|txt|xlsx)$/i.test(candidate))) {
    const kind = fileKindOfFileName(name);
    if (kind === undefined) unknown.push(name);
    else files.push({ fileName: name, kind, answers, open: () => createReadStream(path.join(folder, name)) });
  }
  if (files.length === 0)
    throw new StartupError(`There is nothing to import in ${folder}; it may hold ${known}.`);
  return { files, unknown };
}

/** The answers given by flags, for all files alike. */
function answersOf(flags: Partial<Record<string, unknown>>): Answers {
  const answers: Partial<Record<string, Answer>> = {};
  for (const name of questionNames) {
    const answer = flags[name];
    if (answer === undefined) continue;
    const choices: readonly string[] = answersTo(name);
    if (!choices.includes(answer as string))
      throw new StartupError(`--${name} is one of: ${choices.join(', ')}.`);
    answers[name] = answer as Answer;
  }
  return answers as Answers;
}

/** The conference of that short name, or the only one there is. */
async function conferenceOf({ prisma }: Database, slug: string | undefined): Promise<string> {
  const rows = await prisma.conference.findMany({
    orderBy: { slug: 'asc' },
    select: { id: true, slug: true },
  });
  const slugs = rows.map((row) => row.slug).join(', ');
  if (slug !== undefined) {
    const found = rows.find((row) => row.slug === slug);
    if (found === undefined)
      throw new StartupError(`There is no conference "${slug}"; there is: ${slugs || 'none'}.`);
    return found.id;
  }
  if (rows.length > 1)
    throw new StartupError(`There are several conferences; choose with --conference: ${slugs}.`);
  if (rows[0] === undefined) {
    throw new StartupError('There is no conference yet; open one (npm run new-conference), then import.');
  }
  return rows[0].id;
}

/** Opens the season, unless an earlier run did. */
async function openNamed(database: Database, conferenceId: string, name: string): Promise<void> {
  if (name.trim() === '' || name.length > 100)
    throw new StartupError('--open-season needs a name of at most 100 characters, such as 2027.');
  if (await seasonNamed(database, conferenceId, name)) return;
  await inTransaction(database.pool, (client) =>
    openSeason(client, { conferenceId, personId: null }, { name }),
  );
  say(`Opened season ${name}`);
}

/** Pieces of a list of lines that a terminal shows. */
const shownLines = 12;

/** What came of one file, for a terminal. */
function outcomeLines(outcome: ImportOutcome): string[] {
  const { fileName, fits, added, changed, unchanged, problems, moreProblems, recounted, questions } = outcome;
  const count = problems.length + moreProblems;
  const counts = `${added} added, ${changed} changed, ${unchanged} unchanged`;
  const wrong = count === 0 ? 'a question is open' : `${count} ${count === 1 ? 'problem' : 'problems'}`;
  const lines = [
    fits
      ? `${fileName}: ${outcome.applied ? '' : 'checked, nothing imported; it would be '}${counts}`
      : `${fileName}: nothing imported, ${wrong}`,
  ];
  const { readAs } = outcome;
  if (readAs.form === 'workbook' || readAs.separator !== 'comma' || readAs.encoding !== 'UTF-8')
    lines.push(`  read with ${readInWords(readAs)}`);
  for (const note of outcome.notes) {
    const where =
      note.count === 0
        ? ''
        : ` (${note.count === 1 ? 'line' : 'lines'} ${linesInWords(note.lines, shownLines)})`;
    lines.push(`  note: ${note.text}${where}`);
  }
  if (fits) {
    for (const report of recounted) {
      lines.push(
        `  counted again: ${report.observer}'s report on ${report.game}, ${report.before} opportunities before, ${report.after} now`,
      );
    }
    return lines;
  }
  for (const { name, asks, example, answers } of questions) {
    lines.push(`  ${asks} For example "${example}". Say it by one of:`);
    for (const { answer, words } of answers) lines.push(`    --${name} ${answer}   ${words}`);
  }
  let listed = 0;
  for (const group of outcome.problemGroups) {
    listed += group.count;
    const values = group.values.filter(({ value }) => value !== '').map(({ value }) => `"${value}"`);
    const where = [whereInWords(group, shownLines), group.column, values.slice(0, 5).join(', ')]
      .filter(Boolean)
      .join(', ');
    const others = Math.max(values.length - 5, 0) + group.otherValues;
    lines.push(
      `  ${where}${others > 0 ? ' and others' : ''}${where ? ': ' : ''}${group.problem} ${group.fix}`,
    );
  }
  if (count > listed) lines.push(`  and ${count - listed} more problems`);
  return lines;
}

async function run(): Promise<number> {
  const { positionals, values } = parseArgs({
    allowPositionals: true,
    options: {
      conference: { type: 'string' },
      'open-season': { type: 'string' },
      check: { type: 'boolean', default: false },
      dates: { type: 'string' },
      left: { type: 'string' },
    },
  });
  const [folder] = positionals;
  if (folder === undefined || positionals.length > 1) {
    throw new StartupError(
      'Name one folder: npm run import -- FOLDER [--conference NAME] [--open-season NAME] [--check]',
    );
  }
  const answers = answersOf(values);
  const { files, unknown } = await filesIn(folder, answers);
  const config = readConfig(process.env);
  const embedded =
    config.DATABASE_URL === undefined ? await startEmbeddedPostgres(config.DATA_DIR, say) : undefined;
  try {
    const database = await openDatabase(config.DATABASE_URL ?? embedded!.url, say);
    try {
      const conferenceId = await conferenceOf(database, values.conference);
      for (const name of unknown) say(`${name}: not read, the name tells no kind of file (${known})`);
      const by = { conferenceId, personId: null };
      if (values['open-season'] !== undefined) await openNamed(database, conferenceId, values['open-season']);
      const { outcomes, notRead } = await importFiles(database.pool, by, files, {
        check: values.check,
        tell: (outcome) => outcomeLines(outcome).forEach(say),
      });
      for (const name of notRead) say(`${name}: not read, because a file before it was not imported`);
      return outcomes.every((outcome) => outcome.fits) ? 0 : 1;
    } finally {
      await database.close();
    }
  } finally {
    await embedded?.stop();
  }
}

run().then(
  (code) => {
    process.exitCode = code;
  },
  (error: Error) => {
    process.stderr.write(`${error instanceof StartupError ? error.message : error.stack}\n`);
    process.exitCode = 1;
  },
);
