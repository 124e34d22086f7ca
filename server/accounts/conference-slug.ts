import type { Database } from '../database/database.ts';

/** The conference's name in addresses, of its folder in FILM_DIR and in the notes of its trail. */
export async function slugOf({ prisma }: Pick<Database, 'prisma'>, conferenceId: string): Promise<string> {
  const { slug } = await prisma.conference.findUniqueOrThrow({
    where: { id: conferenceId },
    select: { slug: true },
  });
  return slug;
}
