import { readFile } from 'node:fs/promises';
import type { PersonActing } from '../accounts/acting.ts';
import { fullName } from '../accounts/people-names.ts';
import type { Database } from '../database/database.ts';
import type { Queryable } from '../database/transaction.ts';
import { invalid, Problem } from '../web/problem.ts';
import type { TemplateKind } from './letter-data.ts';
import type { TemplateProblem } from './template-problem.ts';

/** A template as a conference uses it. Version 0 is the one that comes with the program. */
interface KeptTemplate {
  kind: TemplateKind;
  version: number;
  body: string;
  createdAt: Date | null;
}

const ownTemplates = new Map<TemplateKind, Promise<string>>();

/** The template that comes with the program. */
function ownTemplate(kind: TemplateKind): Promise<string> {
  let text = ownTemplates.get(kind);
  if (!text) {
    text = readFile(new URL(`../../templates/letters/${kind}.md.hbs`, import.meta.url), 'utf8');
    ownTemplates.set(kind, text);
  }
  return text;
}

/** The newest version of a conference's template, or a given one. @throws Problem 404 without that version. */
export async function readTemplate(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  kind: TemplateKind,
  version: number | null = null,
): Promise<KeptTemplate> {
  const kept = await prisma.letterTemplate.findFirst({
    where: { conferenceId, kind, ...(version === null ? {} : { version }) },
    orderBy: { version: 'desc' },
    select: { version: true, body: true, createdAt: true },
  });
  if (kept) return { kind, ...kept };
  if (version !== null && version !== 0)
    throw new Problem(404, 'Not found', `There is no version ${version} of this template.`);
  return { kind, version: 0, body: await ownTemplate(kind), createdAt: null };
}

/** Newest first; the program's own is always the last. */
export async function templateVersions(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  kind: TemplateKind,
): Promise<{ version: number; createdAt: Date | null; by: string | null }[]> {
  const kept = await prisma.letterTemplate.findMany({
    where: { conferenceId, kind },
    orderBy: { version: 'desc' },
    select: { version: true, createdAt: true, createdBy: true },
  });
  const writers = await prisma.person.findMany({
    where: { conferenceId, id: { in: kept.flatMap(({ createdBy }) => createdBy ?? []) } },
    select: { id: true, givenName: true, familyName: true },
  });
  const names = new Map(writers.map((one) => [one.id, fullName(one)]));
  return [
    ...kept.map(({ version, createdAt, createdBy }) => ({
      version,
      createdAt,
      by: names.get(createdBy ?? '') ?? null,
    })),
    { version: 0, createdAt: null, by: null },
  ];
}

/**
 * Keeps a new version, unless it is empty or has problems (as `LetterWriter.check` finds them).
 * @throws Problem 400 naming each wrong line.
 */
export async function saveTemplate(
  db: Queryable,
  who: PersonActing,
  kind: TemplateKind,
  body: string,
  problems: readonly TemplateProblem[],
): Promise<number> {
  refuseWrong(body, problems);
  const { rows } = await db.query<{ version: number }>(
    `INSERT INTO letter_template (conference_id, kind, version, body, created_by)
     SELECT $1, $2, coalesce(max(version), 0) + 1, $3, $4 FROM letter_template
      WHERE conference_id = $1 AND kind = $2
     RETURNING version`,
    [who.conferenceId, kind, body, who.personId],
  );
  return rows[0]!.version;
}

export const longestTemplate = 60_000;

/** @throws Problem 400 with a field for each wrong line. */
export function refuseWrong(body: string, problems: readonly TemplateProblem[]): void {
  if (body.trim() === '')
    throw invalid([{ field: 'body', message: 'is empty; write at least one line of text' }]);
  if (problems.length > 0)
    throw invalid(
      problems.map(({ line, column, message }) => ({
        field: `body, line ${line}, column ${column}`,
        message,
      })),
    );
}
