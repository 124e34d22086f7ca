import { existsSync } from 'node:fs';
import { type Browser, type BrowserContext, chromium } from 'playwright-core';

/** Chromium without windows of its own takes half of the processor time of the one that also draws them. */
const installed = ['/usr/bin/chromium-headless-shell', '/usr/bin/chromium'];

/** What a page may take on a machine with much else to do. It ends only what hangs; speed is measured elsewhere. */
const patience = 180_000;

let started: Promise<Browser> | undefined;

/**
 * A headless Chromium that keeps to itself: no look-ups of its own. Files that run in the same process share it, each
 * with contexts of its own, which `close` ends; the browser itself ends with the process.
 */
export async function launchChromium(): Promise<Browser> {
  if (!(await started)?.isConnected()) started = launch();
  return started!;
}

/** A browser of its own, in which no page may use the microphone; to be closed by whoever asked for it. */
export const launchWithoutMicrophone = (): Promise<Browser> => start(['--use-fake-ui-for-media-stream=deny']);

async function launch(): Promise<Browser> {
  const browser = await start();
  browser.close = async () => {
    for (const context of browser.contexts()) await context.close();
  };
  return browser;
}

async function start(more: readonly string[] = []): Promise<Browser> {
  const browser = await chromium.launch({
    timeout: patience,
    executablePath: process.env.CHROMIUM ?? installed.find((path) => existsSync(path)) ?? installed.at(-1),
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      // A microphone that beeps, which every page may use.
      '--use-fake-device-for-media-stream',
      '--use-fake-ui-for-media-stream',
      ...more,
    ],
  });
  const newContext = browser.newContext.bind(browser);
  browser.newContext = async (options) => {
    const context = await newContext(options);
    context.setDefaultTimeout(patience);
    return context;
  };
  return browser;
}

/** Signs a context in by the session's cookie; the sign-in page has its own test. */
export async function signIn(context: BrowserContext, address: string, token: string): Promise<void> {
  await context.addCookies([
    { name: 'crewmark_session', value: token, url: address, httpOnly: true, sameSite: 'Lax' },
  ]);
}
