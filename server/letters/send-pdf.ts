import type { FastifyReply } from 'fastify';

export function sendPdf(reply: FastifyReply, pdf: Buffer, fileName: string): FastifyReply {
  return reply
    .type('application/pdf')
    .header('cache-control', 'private, no-store')
    .header(
      'content-disposition',
      `inline; filename="letter.pdf"; filename*=UTF-8''${encodeURIComponent(fileName)}`,
    )
    .send(pdf);
}
