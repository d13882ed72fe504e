/** Path of a usable browser, or undefined. */
export function findBrowser(): Promise<string | undefined>;
/** Switches that let the browser run as root and keep it off the network. */
export const browserSwitches: readonly string[];
