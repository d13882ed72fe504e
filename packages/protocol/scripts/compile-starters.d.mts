/** The text of compiled.ts for the starter files as they are now. */
export declare function compiledText(): Promise<string>;
