import { lookup } from 'node:dns';
import http from 'node:http';
import https from 'node:https';
import { isIP, type LookupFunction } from 'node:net';
import { version } from '../version.ts';
import { hostOf, isLoopback, isPublic } from './public-address.ts';

/** Seconds until an answer is given up, the look-up of the name and the connection included. */
export const longestPost = 10;

const longestAnswer = 200;

/** How sending to an address ended. */
export interface Outcome {
  /** The status code answered; null when there was none. */
  readonly status: number | null;
  /** What went wrong, a sentence without its full stop; null when it was taken. */
  readonly error: string | null;
  /** The beginning of what was answered then. */
  readonly answer: string | null;
  /** Seconds for which the receiver asks to be left alone; 0 when it does not. */
  readonly retryAfter: number;
}

/** A name that leads into a network, or nowhere. */
class AddressRefused extends Error {}

const mayBeReached = (ip: string, url: URL, toLoopback: boolean): boolean =>
  (toLoopback && isLoopback(ip)) || (url.protocol === 'https:' && isPublic(ip));

const refusal = () =>
  new AddressRefused(
    'It lies inside a network or is this server itself, where nothing is sent; correct the address, or its name in DNS',
  );

/** Connects to the very addresses that were checked: a name looked up again could lead elsewhere. */
const guarded =
  (url: URL, toLoopback: boolean): LookupFunction =>
  (host, options, done) => {
    lookup(host, { ...options, all: true }, (error, found) => {
      if (error) return done(error, '');
      if (found.length === 0 || !found.every(({ address }) => mayBeReached(address, url, toLoopback)))
        return done(refusal(), '');
      if (options.all) return done(null, found);
      return done(null, found[0]!.address, found[0]!.family);
    });
  };

/**
 * Sends a body to an address of the open network, once. Redirects are not followed: they could lead anywhere.
 * @param toLoopback whether this machine may be told too, also without TLS
 */
export async function post(
  address: string,
  headers: Readonly<Record<string, string>>,
  body: string,
  toLoopback: boolean,
  seconds = longestPost,
): Promise<Outcome> {
  const url = new URL(address);
  try {
    const host = hostOf(url);
    if (isIP(host) !== 0 && !mayBeReached(host, url, toLoopback)) throw refusal();
    return await answered(url, headers, body, toLoopback, AbortSignal.timeout(seconds * 1000));
  } catch (error) {
    return { status: null, error: inWords(error, seconds), answer: null, retryAfter: 0 };
  }
}

async function answered(
  url: URL,
  headers: Readonly<Record<string, string>>,
  body: string,
  toLoopback: boolean,
  signal: AbortSignal,
): Promise<Outcome> {
  const response = await new Promise<http.IncomingMessage>((resolve, reject) => {
    const request = (url.protocol === 'https:' ? https : http).request(url, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        'content-length': Buffer.byteLength(body),
        'user-agent': `Crewmark/${version}`,
        ...headers,
      },
      agent: false,
      lookup: guarded(url, toLoopback),
      signal,
    });
    request.on('response', resolve);
    request.on('error', reject);
    request.end(body);
  });
  const status = response.statusCode!;
  const answer = await beginningOf(response);
  if (status >= 200 && status < 300) return { status, error: null, answer: null, retryAfter: 0 };
  return {
    status,
    error:
      status >= 300 && status < 400
        ? `It answered ${status}, a redirect, which is not followed; write the address that it leads to`
        : `It answered ${status}`,
    answer: answer === '' ? null : answer,
    retryAfter: secondsOf(response.headers['retry-after']),
  };
}

/** As much as tells what is wrong, in one line; what is cut off on the way is enough. */
async function beginningOf(response: http.IncomingMessage): Promise<string> {
  const chunks: Buffer[] = [];
  let length = 0;
  try {
    for await (const chunk of response) {
      chunks.push(chunk as Buffer);
      length += (chunk as Buffer).length;
      if (length >= 4 * longestAnswer) break;
    }
  } catch {
    // The status says enough.
  }
  response.destroy();
  const text = Buffer.concat(chunks)
    .toString('utf8')
    .replaceAll(/[\p{C}\s]+/gu, ' ');
  return [...text.trim()].slice(0, longestAnswer).join('');
}

/** Of Retry-After: seconds, or a date (RFC 9110, section 10.2.3). */
function secondsOf(header: string | undefined): number {
  if (header === undefined) return 0;
  if (/^\d{1,9}$/.test(header)) return Number(header);
  const seconds = (Date.parse(header) - Date.now()) / 1000;
  return Number.isFinite(seconds) ? Math.max(0, seconds) : 0;
}

const words: Readonly<Record<string, string>> = {
  ENOTFOUND: 'Its name is not known (DNS)',
  EAI_AGAIN: 'Its name could not be looked up (DNS)',
  ECONNREFUSED: 'Nobody listens there',
  ECONNRESET: 'It ended the connection',
  EHOSTUNREACH: 'It could not be reached',
  ENETUNREACH: 'It could not be reached',
};

/** Never an error's own message, which repeats what is sent or answered. */
function inWords(error: unknown, seconds: number): string {
  if (error instanceof AddressRefused) return error.message;
  const { code, name, cause } = error as NodeJS.ErrnoException & { cause?: unknown };
  if (
    name === 'AbortError' ||
    name === 'TimeoutError' ||
    (cause as Error | undefined)?.name === 'TimeoutError'
  )
    return `No answer within ${seconds} seconds`;
  const known = words[code ?? ''];
  if (known) return known;
  if (/CERT|SIGNED|ALTNAME|ERR_TLS|EPROTO|ERR_SSL/.test(code ?? ''))
    return `There is no TLS to trust (${code}): its certificate or its chain is wrong`;
  if (code?.startsWith('HPE_')) return `What it answered is not HTTP, or its headers are too long (${code})`;
  return `It could not be sent${code ? ` (${code})` : ''}`;
}
