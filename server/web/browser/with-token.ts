let token: string | undefined;

const ofPage = () => document.querySelector<HTMLInputElement>('input[name=_csrf]')?.value ?? '';

/** A fetch with the page's token against forged requests; signed in again since, with the new one. */
export async function withToken(address: string, request: RequestInit): Promise<Response> {
  token ??= ofPage();
  const send = () =>
    fetch(address, { ...request, headers: { ...(request.headers as object), 'x-csrf-token': token ?? '' } });
  const answer = await send();
  if (answer.status !== 403) return answer;
  const session = await fetch('/api/session', { cache: 'no-store' });
  const now = session.ok ? ((await session.json()) as { csrfToken: string }).csrfToken : token;
  if (now === token) return answer;
  token = now;
  return send();
}
