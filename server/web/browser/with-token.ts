let token: string | undefined;

const ofPage = () => document.querySelector<HTMLInputElement>('input[name=_csrf]')?.value ?? '';
/** Whose page it is, as the server wrote it. */
const personOfPage = () => document.querySelector<HTMLElement>('[data-person]')?.dataset.person;

const somebodyElse =
  'Somebody else is signed in in this browser now. Sign in again as yourself in another tab, then come back here.';

/**
 * A fetch with the page's token against forged requests; signed in again since, with the new one. What one person does is
 * never sent as another's, who signed in meanwhile: it is answered as if nobody were (401).
 */
export async function withToken(address: string, request: RequestInit): Promise<Response> {
  token ??= ofPage();
  const send = () =>
    fetch(address, { ...request, headers: { ...(request.headers as object), 'x-csrf-token': token ?? '' } });
  const answer = await send();
  if (answer.status !== 403) return answer;
  const session = await fetch('/api/session', { cache: 'no-store' });
  if (!session.ok) return answer;
  const now = (await session.json()) as { csrfToken: string; personId: string };
  if (now.personId !== personOfPage()) return Response.json({ detail: somebodyElse }, { status: 401 });
  if (now.csrfToken === token) return answer;
  token = now.csrfToken;
  return send();
}
