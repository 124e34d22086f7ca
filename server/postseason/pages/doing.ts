import type { FastifyReply } from 'fastify';
import { Problem } from '../../web/problem.ts';

/** Does something and goes on to its address; what is refused is shown on the page as it is now. */
export async function doing(
  reply: FastifyReply,
  work: () => Promise<string>,
  show: (refused: string) => Promise<FastifyReply>,
): Promise<FastifyReply> {
  try {
    return reply.redirect(await work(), 303);
  } catch (error) {
    const refused = refusedIn(error);
    reply.code(refused.status);
    return show(refused.sentence);
  }
}

/** The sentence that refuses; of a closed selection or season it is the database's. Any other error is thrown on. */
export function refusedIn(error: unknown): { status: number; sentence: string } {
  if (error instanceof Problem && [400, 409].includes(error.status)) {
    const said = error.errors.map(({ message }) => message).join('; ');
    return {
      status: error.status,
      sentence: error.status === 400 && said !== '' ? `Not done: ${said}.` : error.message,
    };
  }
  if (error instanceof Error && (error as Error & { code?: string }).code === 'CM409')
    return { status: 409, sentence: error.message };
  throw error;
}
