/** What keeps the database from doing its work just now; it passes, and the same request may be sent again. */
type Trouble = 'away' | 'full';

// SQLSTATE (PostgreSQL manual, appendix A): connection exceptions, the server stops or starts, too many connections.
const away = /^(08...|57P0[1-5]|53300)$/;
// disk_full, and what a write to a full disk may be told as.
const full = /^(53100|ENOSPC|EDQUOT)$/;
const network = new Set([
  'ECONNREFUSED',
  'ECONNRESET',
  'EPIPE',
  'ETIMEDOUT',
  'EHOSTUNREACH',
  'ENETUNREACH',
  'ENOTFOUND',
  'EAI_AGAIN',
]);
// The ORM's own: cannot reach, timed out, closed the connection, no connection free, too many connections.
const orm = new Set(['P1001', 'P1002', 'P1008', 'P1017', 'P2024', 'P2037']);
// The client library gives these no code.
const words =
  /Connection terminated|connection error and is not queryable|Client was closed|timeout exceeded when trying to connect|Cannot use a pool after calling end|server closed the connection/i;
const noRoom = /No space left on device|Disk quota exceeded/;

/** The trouble behind an error, looked for through its causes; undefined when the error is something else's. */
export function databaseTrouble(error: unknown): Trouble | undefined {
  const seen = new Set<unknown>();
  const look = (thrown: unknown): Trouble | undefined => {
    if (typeof thrown !== 'object' || thrown === null || seen.has(thrown)) return undefined;
    seen.add(thrown);
    const { code, message, originalCode, cause, meta, driverAdapterError, errors, kind } = thrown as Record<
      string,
      unknown
    >;
    for (const said of [code, originalCode]) {
      if (typeof said !== 'string') continue;
      if (full.test(said)) return 'full';
      if (away.test(said) || network.has(said) || orm.has(said)) return 'away';
    }
    if (typeof message === 'string') {
      if (noRoom.test(message)) return 'full';
      if (words.test(message)) return 'away';
    }
    if (kind === 'DatabaseNotReachable' || kind === 'ConnectionClosed' || kind === 'TooManyConnections')
      return 'away';
    const within = [cause, meta, driverAdapterError, ...(Array.isArray(errors) ? errors : [])];
    for (const inner of within) {
      const found = look(inner);
      if (found !== undefined) return found;
    }
    return undefined;
  };
  return look(error);
}
