import { STATUS_CODES } from 'node:http';
import type { Socket } from 'node:net';

// What the web server would answer by itself, before any of our code has the request: in our form instead.

/**
 * An address whose percent signs stand for nothing (RFC 3986, section 2.1) names nothing that is here; escaped, it goes
 * the way of every other one, and is answered by a page or as the API does.
 */
export function readableAddress(url: string): string {
  const end = url.search(/[?#]/);
  const [path, rest] = end < 0 ? [url, ''] : [url.slice(0, end), url.slice(end)];
  if (decodes(path)) return url;
  const escaped = path.replaceAll(/%(?![0-9a-f]{2})/gi, '%25');
  return (decodes(escaped) ? escaped : path.replaceAll('%', '%25')) + rest;
}

function decodes(path: string): boolean {
  try {
    decodeURIComponent(path);
    return true;
  } catch {
    return false;
  }
}

const saying: Record<string, { status: number; detail: string }> = {
  ERR_HTTP_REQUEST_TIMEOUT: {
    status: 408,
    detail: 'The request did not arrive whole in time; send it again.',
  },
  HPE_HEADER_OVERFLOW: {
    status: 431,
    detail:
      'The address and the headers are more than 16 kB together; leave some out (a browser: delete the cookies).',
  },
};
const noRequest = { status: 400, detail: 'This is no HTTP request that could be read; send it anew.' };

/** Answers what is no request, by problem details (RFC 9457), and ends the connection. */
export function answerNoRequest(error: Error & { code?: string }, socket: Socket): void {
  if (error.code === 'ECONNRESET' || socket.destroyed) return;
  const { status, detail } = saying[error.code ?? ''] ?? noRequest;
  const title = STATUS_CODES[status]!;
  const body = JSON.stringify({ type: 'about:blank', title, status, detail });
  if (socket.writable)
    socket.write(
      `HTTP/1.1 ${status} ${title}\r\nContent-Type: application/problem+json\r\nContent-Length: ${Buffer.byteLength(body)}\r\nConnection: close\r\n\r\n${body}`,
    );
  socket.destroy(error);
}
