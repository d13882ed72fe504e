import type { Ward } from '@ebbline/core/record';
import type { ProtocolVersion } from '@ebbline/protocol';
import { useDirectory, useThisWard } from '../../shell/hooks.ts';

/** The ward that a version is for; this one while the directory is not here. */
export function useWardOf(version: ProtocolVersion): Ward {
  const here = useThisWard();
  return useDirectory().wards.find((one) => one.id === version.ward) ?? here;
}
