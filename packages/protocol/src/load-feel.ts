import type { Feel } from './model.ts';

/** A name or path, perhaps within not(…): no operator, no literal, no comma. */
const nameOnly = /^(?:not\(\s*([A-Za-z_][\w .]*)\s*\)|([A-Za-z_][\w .]*))$/;

/**
 * Loads the FEEL engine on demand, so that a bundle that only runs compiled tables never carries it.
 *
 * A test that is only a name, against a yes/no value, asks "is it the same": the engine alone would take the
 * named value itself as the verdict, so it is asked as an equation here.
 */
export async function loadFeel(): Promise<Feel> {
  const engine = await import('@bpmn-io/feelin');
  return {
    evaluate: (expression, context) => engine.evaluate(expression, { ...context }).value,
    unaryTest: (tests, value, context) => {
      const match = typeof value === 'boolean' ? nameOnly.exec(tests.trim()) : null;
      const name = match?.[1] ?? match?.[2];
      if (match && name !== undefined) {
        const sign = match[1] === undefined ? '=' : '!=';
        return engine.evaluate(`${String(value)} ${sign} (${name})`, { ...context }).value === true;
      }
      return engine.unaryTest(tests, { ...context, '?': value }).value === true;
    },
  };
}
