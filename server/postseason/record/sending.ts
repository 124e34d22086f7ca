import type { FastifyReply } from 'fastify';

/** Sends a record or a draft of it. Of a record it says its hash, as RFC 9530 has it, and in the file's name. */
export function sendRecord(
  reply: FastifyReply,
  pdf: Buffer,
  { title, sha256 }: { title: string; sha256: string | null },
): FastifyReply {
  const name = sha256 ? `${title}, record ${sha256.slice(0, 12)}.pdf` : `${title}, draft.pdf`;
  if (sha256) reply.header('repr-digest', `sha-256=:${Buffer.from(sha256, 'hex').toString('base64')}:`);
  return reply
    .type('application/pdf')
    .header('cache-control', 'private, no-store')
    .header(
      'content-disposition',
      `inline; filename="selection-record.pdf"; filename*=UTF-8''${encodeURIComponent(name)}`,
    )
    .send(pdf);
}
