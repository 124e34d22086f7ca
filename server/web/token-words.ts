/** How every token for programs begins, so that one is known wherever it turns up. */
export const tokenPrefix = 'crewmark_';
export const anyToken = new RegExp(`${tokenPrefix}[\\w-]{20,}`, 'g');

/** The address without its query and without a token that somebody wrote into its path. */
export const pathWithoutTokens = (url: string): string => (url.split('?')[0] ?? '').replaceAll(anyToken, '…');
