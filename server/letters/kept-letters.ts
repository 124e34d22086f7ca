import { fullName } from '../accounts/people-names.ts';
import type { Database } from '../database/database.ts';
import type { Prisma } from '../database/generated/client.ts';
import { notFound } from '../web/problem.ts';
import type { LetterKind } from './letter-data.ts';

/** All of a letter but its PDF and what it was made of. */
const columns = {
  id: true,
  personId: true,
  seasonId: true,
  kind: true,
  edition: true,
  position: true,
  pages: true,
  sha256: true,
  inputRevision: true,
  templateVersion: true,
  createdAt: true,
  releasedAt: true,
  person: { select: { givenName: true, familyName: true } },
  season: { select: { name: true } },
} satisfies Prisma.LetterSelect;

const listed = ({
  person,
  season,
  kind,
  inputRevision,
  ...letter
}: Prisma.LetterGetPayload<{ select: typeof columns }>) => ({
  ...letter,
  kind: kind as LetterKind,
  inputRevision: Number(inputRevision),
  name: fullName(person),
  seasonName: season.name,
});
type ListedLetter = ReturnType<typeof listed>;

/** @throws Problem 404 when the conference has no such letter. */
export async function readLetter(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  id: string,
): Promise<ListedLetter & { data: unknown }> {
  const letter = await prisma.letter.findUnique({
    where: { conferenceId_id: { conferenceId, id } },
    select: { ...columns, data: true },
  });
  if (!letter) throw notFound('letter');
  return { ...listed(letter), data: letter.data };
}

/** @throws Problem 404 when the conference has no such letter. */
export async function readLetterWithPdf(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  id: string,
): Promise<{ letter: ListedLetter; pdf: Buffer }> {
  const letter = await prisma.letter.findUnique({
    where: { conferenceId_id: { conferenceId, id } },
    select: { ...columns, pdf: true },
  });
  if (!letter) throw notFound('letter');
  return { letter: listed(letter), pdf: Buffer.from(letter.pdf) };
}

/** An official's released letters, every edition, newest first. */
export async function lettersTo(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  personId: string,
): Promise<ListedLetter[]> {
  const letters = await prisma.letter.findMany({
    where: { conferenceId, personId, releasedAt: { not: null } },
    orderBy: [{ releasedAt: 'desc' }, { edition: 'desc' }],
    select: columns,
  });
  return letters.map(listed);
}

/** All letters about an official in a season, drafts too, newest first: for the coordinator. */
export async function lettersAbout(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  seasonId: string,
  personId: string,
): Promise<ListedLetter[]> {
  const letters = await prisma.letter.findMany({
    where: { conferenceId, seasonId, personId },
    orderBy: [{ createdAt: 'desc' }, { edition: 'desc' }],
    select: columns,
  });
  return letters.map(listed);
}

/** A letter's name as a file: words and figures only, so that no system stumbles over it. */
export function letterFileName(
  letter: Pick<ListedLetter, 'name' | 'kind' | 'seasonName' | 'edition'>,
): string {
  const plain = `${letter.name} ${letter.seasonName} ${letter.kind}`
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}\p{M}]+/gu, '-')
    .replace(/^-|-$/g, '');
  return `${plain}${letter.edition > 1 ? `-edition-${letter.edition}` : ''}.pdf`;
}
