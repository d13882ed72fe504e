// Reads the small part of YAML that our data files use: mappings and lists by two-space indentation, plain and
// double-quoted scalars, numbers. Anything else is an error with its line; nothing is guessed.

function scalar(text, line) {
  if (/^".*"$/.test(text)) return JSON.parse(text);
  if (/^-?\d+(\.\d+)?$/.test(text)) return Number(text);
  if (text === '[]') return [];
  if (/^[[{&*!|>%@`']/.test(text))
    throw new Error(
      `line ${line}: "${text}" is not in the part of YAML that is read here; use double quotes`,
    );
  if (/: | #/.test(text)) throw new Error(`line ${line}: put double quotes around "${text}"`);
  return text;
}

/** @param {string} source @returns {any} */
export function readYaml(source) {
  const lines = source
    .split('\n')
    .map((text, index) => ({ text: text.trimEnd(), line: index + 1 }))
    .filter(({ text }) => text.trim() !== '' && !text.trim().startsWith('#'))
    .map(({ text, line }) => ({ indent: text.length - text.trimStart().length, text: text.trim(), line }));
  let at = 0;
  const block = (indent) => (lines[at].text.startsWith('- ') ? list(indent) : mapping(indent));
  const list = (indent) => {
    const items = [];
    while (at < lines.length && lines[at].indent === indent && lines[at].text.startsWith('- ')) {
      const here = lines[at];
      const rest = here.text.slice(2);
      if (/^[\w-]+:( |$)/.test(rest)) {
        lines[at] = { indent: indent + 2, text: rest, line: here.line };
        items.push(mapping(indent + 2));
      } else {
        items.push(scalar(rest, here.line));
        at += 1;
      }
    }
    return items;
  };
  const mapping = (indent) => {
    const map = {};
    while (at < lines.length && lines[at].indent === indent && !lines[at].text.startsWith('- ')) {
      const { text, line } = lines[at];
      const match = /^([\w-]+):(?: (.*))?$/.exec(text);
      if (!match) throw new Error(`line ${line}: "${text}" is no "name: value"`);
      const [, name, value] = match;
      if (Object.hasOwn(map, name)) throw new Error(`line ${line}: ${name} stands twice`);
      at += 1;
      if (value !== undefined) map[name] = scalar(value, line);
      else if (at < lines.length && lines[at].indent > indent) map[name] = block(lines[at].indent);
      else throw new Error(`line ${line}: ${name} has no value`);
    }
    return map;
  };
  if (lines.length === 0) return {};
  const value = block(lines[0].indent);
  if (at < lines.length)
    throw new Error(`line ${lines[at].line}: "${lines[at].text}" does not fit where it stands`);
  return value;
}
