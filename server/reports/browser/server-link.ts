import { mostChangesAtOnce } from '../entry/change-limit.ts';
import type { Change, ChangeResult } from '../entry/changes.ts';
import type { EntrySnapshot } from '../entry/entry-snapshot.ts';

/** Why the server cannot be worked with just now. `again` says whether waiting helps. */
export class LinkProblem extends Error {
  constructor(
    readonly reason:
      | 'no connection'
      | 'signed out'
      | 'closed'
      | 'not allowed'
      | 'not valid'
      | 'failed'
      | 'moved',
    message: string,
  ) {
    super(message);
  }
}

/** The requests of the entry page. Every failure is a LinkProblem. */
export class ServerLink {
  private csrf: string | undefined;
  constructor(private readonly reportId: string) {}

  /** The report as the server has it, or undefined when it still is what `tag` stands for. */
  async snapshot(tag: string): Promise<{ snapshot: EntrySnapshot; tag: string } | undefined> {
    const answer = await this.ask(`/api/reports/${this.reportId}/entry`, {
      headers: tag ? { 'if-none-match': tag } : {},
      cache: 'no-store',
    });
    if (answer.status === 304) return undefined;
    return { snapshot: (await answer.json()) as EntrySnapshot, tag: answer.headers.get('etag') ?? '' };
  }

  /** Opens the report on a game under this report's id; gives the id that it has, where there is one already. */
  async open(gameId: string): Promise<string> {
    const answer = await this.post(
      `/api/games/${gameId}/reports`,
      JSON.stringify({ reportId: this.reportId }),
    );
    return ((await answer.json()) as { reportId: string }).reportId;
  }

  async send(changes: readonly Change[]): Promise<ChangeResult[]> {
    const body = JSON.stringify({ changes: changes.slice(0, mostChangesAtOnce) });
    const answer = await this.post(`/api/reports/${this.reportId}/changes`, body);
    return ((await answer.json()) as { results: ChangeResult[] }).results;
  }

  async file(): Promise<void> {
    await this.post(`/api/reports/${this.reportId}/file`, '{}');
  }

  private async post(url: string, body: string): Promise<Response> {
    this.csrf ??= await this.token();
    const request = () =>
      this.ask(url, {
        method: 'POST',
        body,
        headers: { 'content-type': 'application/json', 'x-csrf-token': this.csrf ?? '' },
      });
    try {
      return await request();
    } catch (error) {
      // Signed in again since: the token is another one.
      if (!(error instanceof LinkProblem) || error.reason !== 'not allowed') throw error;
      this.csrf = await this.token();
      return request();
    }
  }

  private async token(): Promise<string> {
    const answer = await this.ask('/api/session', { cache: 'no-store' });
    return ((await answer.json()) as { csrfToken: string }).csrfToken;
  }

  private async ask(url: string, request: RequestInit): Promise<Response> {
    let answer: Response;
    try {
      answer = await fetch(url, {
        ...request,
        credentials: 'same-origin',
        signal: AbortSignal.timeout(20_000),
      });
    } catch {
      throw new LinkProblem('no connection', 'The server cannot be reached.');
    }
    if (answer.ok || answer.status === 304) return answer;
    const problem = (await answer.json().catch(() => ({}))) as { detail?: string };
    const detail = problem.detail ?? `The server answered ${answer.status}.`;
    if (answer.status === 401) throw new LinkProblem('signed out', detail);
    // 404: somebody else is signed in here; the changes wait for their observer.
    if (answer.status === 403 || answer.status === 404) throw new LinkProblem('not allowed', detail);
    if (answer.status === 409) throw new LinkProblem('closed', detail);
    if (answer.status === 400 || answer.status === 413 || answer.status === 422) {
      throw new LinkProblem('not valid', detail);
    }
    // 500: it stumbled over what was sent. What is above (502 to 507) passes.
    throw new LinkProblem(answer.status === 500 ? 'failed' : 'no connection', detail);
  }
}
