/** The reader library ships no types; this is the part we use. */
declare module 'dmn-moddle' {
  export class DmnModdle {
    fromXML(xml: string, type: string): Promise<unknown>;
    toXML(element: unknown, options: { readonly format: boolean }): Promise<{ readonly xml: string }>;
    create(type: string, attributes: Readonly<Record<string, unknown>>): Record<string, unknown>;
    createAny(
      type: string,
      namespace: string,
      attributes: Readonly<Record<string, unknown>>,
    ): Record<string, unknown>;
  }
}
