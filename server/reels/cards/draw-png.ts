import { createRequire } from 'node:module';
import { renderAsync } from '@resvg/resvg-js';

const require = createRequire(import.meta.url);
/** The faces of letters too: nothing of a reel depends on what fonts a server has. */
const fontFiles = ['400Regular', '600SemiBold', '700Bold'].map((face) =>
  require.resolve(`@expo-google-fonts/source-sans-3/${face}/SourceSans3_${face}.ttf`),
);

/** A drawing as a picture (PNG), off the thread that serves people. */
export async function drawPng(svg: string): Promise<Uint8Array> {
  const drawn = await renderAsync(svg, {
    font: { fontFiles, loadSystemFonts: false, defaultFontFamily: 'Source Sans 3' },
  });
  return drawn.asPng();
}
