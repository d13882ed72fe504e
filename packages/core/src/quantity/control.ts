/**
 * Hazard controls by name. Every guard named in docs/hazards asks `controlIsOn` first, so that the trace
 * check can switch one off and see its tests fail. Product code never switches one off.
 */
const off = new Set<string>();

/** True unless a test has switched this control off. */
export function controlIsOn(id: string): boolean {
  return !off.has(id);
}

/** Test-only. */
export function switchControlOff(id: string): void {
  off.add(id);
}
