import type { WatchSetting } from '@ebbline/core/record';
import type { CompiledProtocol } from './compile-protocol.ts';
import { starterProtocols } from './starter/compiled.ts';

export { starterProtocols };

/** The starter protocol of a setting; one ships for every setting. */
export function starterFor(setting: WatchSetting): CompiledProtocol | undefined {
  return starterProtocols.find((protocol) => protocol.settings.includes(setting));
}
