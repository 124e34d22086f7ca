import http from 'node:http';
import https from 'node:https';
import type { AddressInfo } from 'node:net';

/** What came to a receiver. */
export interface Arrived {
  readonly path: string;
  readonly headers: Record<string, string>;
  readonly body: string;
}

/** What a receiver answers; 'nothing' leaves the sender waiting. */
type Answer = { status: number; headers?: Record<string, string>; body?: string } | 'nothing';

/** A real HTTP server on loopback that keeps what arrives and answers as it is told. */
export interface Receiver {
  readonly address: string;
  readonly arrived: Arrived[];
  answer: Answer | ((arrived: Arrived) => Answer);
  /** Answers those that were left waiting. */
  letGo(answer: { status: number }): void;
  /** Resolves when so many have arrived in all. */
  arrivals(count: number): Promise<void>;
  close(): Promise<void>;
}

export async function receiver(tls?: { key: string; cert: string }): Promise<Receiver> {
  let arrivedMore = () => {};
  const left: http.ServerResponse[] = [];
  const take: http.RequestListener = async (request, response) => {
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(chunk as Buffer);
    const one: Arrived = {
      path: request.url!,
      headers: request.headers as Record<string, string>,
      body: Buffer.concat(chunks).toString(),
    };
    made.arrived.push(one);
    const answer = typeof made.answer === 'function' ? made.answer(one) : made.answer;
    if (answer === 'nothing') left.push(response);
    else response.writeHead(answer.status, answer.headers).end(answer.body);
    arrivedMore();
  };
  const server = tls ? https.createServer(tls, take) : http.createServer(take);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  const made: Receiver = {
    address: `${tls ? 'https' : 'http'}://localhost:${port}/hook`,
    arrived: [],
    answer: { status: 204 },
    letGo: ({ status }) => {
      for (const response of left.splice(0)) response.writeHead(status).end();
    },
    arrivals: async (count) => {
      while (made.arrived.length < count)
        await new Promise<void>((resolve) => {
          arrivedMore = resolve;
        });
    },
    close: async () => {
      server.closeAllConnections();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
  return made;
}
