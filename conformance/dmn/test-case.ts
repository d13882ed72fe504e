/** Reads the kit's test files: elements, attributes and text, nothing more of XML. */
export interface Element {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: Element[];
  text: string;
}

export interface ConformanceCase {
  readonly id: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly results: readonly { readonly decision: string; readonly expected: unknown }[];
}

const entities: Readonly<Record<string, string>> = { lt: '<', gt: '>', amp: '&', quot: '"', apos: "'" };
const unescape = (text: string): string =>
  text.replace(/&(#x[0-9a-f]+|#\d+|\w+);/gi, (whole, name: string) => {
    if (name.startsWith('#x')) return String.fromCodePoint(Number.parseInt(name.slice(2), 16));
    if (name.startsWith('#')) return String.fromCodePoint(Number(name.slice(1)));
    return entities[name] ?? whole;
  });

function readElements(xml: string): Element {
  const root: Element = { name: '', attributes: {}, children: [], text: '' };
  const stack: Element[] = [root];
  const token =
    /<!--[\s\S]*?-->|<\?[\s\S]*?\?>|<!\[CDATA\[([\s\S]*?)\]\]>|<(\/?)([\w.:-]+)((?:\s+[\w.:-]+\s*=\s*(?:"[^"]*"|'[^']*'))*)\s*(\/?)>|([^<]+)/g;
  for (const match of xml.matchAll(token)) {
    const [, cdata, closing, name, attributeText = '', selfClosing, text] = match;
    const top = stack.at(-1) as Element;
    if (cdata !== undefined) top.text += cdata;
    else if (text !== undefined) top.text += unescape(text);
    else if (name !== undefined && closing === '/') stack.pop();
    else if (name !== undefined) {
      const attributes: Record<string, string> = {};
      for (const [, key, double, single] of attributeText.matchAll(
        /([\w.:-]+)\s*=\s*(?:"([^"]*)"|'([^']*)')/g,
      )) {
        attributes[(key as string).replace(/^.*:/, '')] = unescape(double ?? single ?? '');
      }
      const element: Element = { name: name.replace(/^.*:/, ''), attributes, children: [], text: '' };
      top.children.push(element);
      if (selfClosing !== '/') stack.push(element);
    }
  }
  return root;
}

const numeric = new Set(['decimal', 'double', 'integer', 'int', 'float', 'long']);

/** A `value`, `component` list or `list` as plain JSON; dates, times and durations as their text. */
function valueIn(element: Element): unknown {
  const components = element.children.filter((child) => child.name === 'component');
  if (components.length > 0)
    return Object.fromEntries(components.map((one) => [one.attributes['name'] ?? '', valueIn(one)]));
  const list = element.children.find((child) => child.name === 'list');
  if (list)
    return list.attributes['nil'] === 'true'
      ? null
      : list.children.filter((child) => child.name === 'item').map(valueIn);
  const value = element.children.find((child) => child.name === 'value');
  if (!value || value.attributes['nil'] === 'true') return null;
  const type = (value.attributes['type'] ?? 'xsd:string').replace(/^.*:/, '');
  if (numeric.has(type)) return Number(value.text);
  if (type === 'boolean') return value.text.trim() === 'true';
  return value.text;
}

export function readCases(xml: string): readonly ConformanceCase[] {
  const root = readElements(xml).children.find((child) => child.name === 'testCases');
  return (root?.children ?? [])
    .filter((child) => child.name === 'testCase')
    .map((one, index) => ({
      id: one.attributes['id'] ?? `case ${index + 1}`,
      inputs: Object.fromEntries(
        one.children
          .filter((child) => child.name === 'inputNode')
          .map((node) => [node.attributes['name'] ?? '', valueIn(node)]),
      ),
      results: one.children
        .filter((child) => child.name === 'resultNode')
        .map((node) => {
          const expected = node.children.find((child) => child.name === 'expected');
          return { decision: node.attributes['name'] ?? '', expected: expected ? valueIn(expected) : null };
        }),
    }));
}
