/** The sign-in page, which leads back to this one. */
export const signInAddress = () => `/sign-in?next=${encodeURIComponent(location.pathname)}`;
