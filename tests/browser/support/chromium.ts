import { existsSync } from 'node:fs';
import { type Browser, type BrowserContext, chromium } from 'playwright-core';

/** Chromium without windows of its own takes half of the processor time of the one that also draws them. */
const installed = ['/usr/bin/chromium-headless-shell', '/usr/bin/chromium'];

/** A headless Chromium that keeps to itself: no look-ups of its own. */
export function launchChromium(): Promise<Browser> {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? installed.find((path) => existsSync(path)) ?? installed.at(-1),
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** Signs a context in by the session's cookie; the sign-in page has its own test. */
export async function signIn(context: BrowserContext, address: string, token: string): Promise<void> {
  await context.addCookies([
    { name: 'crewmark_session', value: token, url: address, httpOnly: true, sameSite: 'Lax' },
  ]);
}
