import { BlockList, isIP } from 'node:net';

// Where a request may go that somebody else chose the address of: not into the network that the program stands in. By
// IANA's registries of special-purpose addresses (RFC 6890); multicast RFC 5771.

const inside = new BlockList();
for (const [net, bits] of [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.0.2.0', 24],
  ['192.88.99.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['198.51.100.0', 24],
  ['203.0.113.0', 24],
  ['224.0.0.0', 4],
  ['240.0.0.0', 4],
  // Looks public, and answers a virtual machine about itself in one large hosting network.
  ['168.63.129.16', 32],
] as const)
  inside.addSubnet(net, bits, 'ipv4');
for (const [net, bits] of [
  // Of what is global unicast: protocol assignments with Teredo, documentation, and 6to4, which holds another address.
  ['2001::', 23],
  ['2001:db8::', 32],
  ['2002::', 16],
  ['3fff::', 20],
] as const)
  inside.addSubnet(net, bits, 'ipv6');

/** All that is global unicast so far (RFC 4291, section 2.4); whatever lies outside is not for us to reach. */
const globalUnicast = new BlockList();
globalUnicast.addSubnet('2000::', 3, 'ipv6');

const loopback = new BlockList();
loopback.addSubnet('127.0.0.0', 8, 'ipv4');
loopback.addAddress('::1', 'ipv6');

const family = (ip: string) => (isIP(ip) === 6 ? 'ipv6' : 'ipv4');

/** Whether an IP address, written as such, is of the open network. */
export function isPublic(ip: string): boolean {
  switch (isIP(ip)) {
    case 4:
      return !inside.check(ip, 'ipv4');
    case 6:
      return globalUnicast.check(ip, 'ipv6') && !inside.check(ip, 'ipv6');
    default:
      return false;
  }
}

/** Whether it is this machine itself. An IPv4 address inside an IPv6 one is neither this nor public. */
export const isLoopback = (ip: string): boolean =>
  isIP(ip) !== 0 && !ip.toLowerCase().startsWith('::ffff:') && loopback.check(ip, family(ip));

/** The host of an address without the brackets of IPv6. */
export const hostOf = ({ hostname }: URL): string => hostname.replace(/^\[(.*)\]$/, '$1');

const isLoopbackName = (host: string) => /(^|\.)localhost\.?$/i.test(host);

/**
 * What is wrong with an address that a webhook is to have, as far as it can be told without asking for its name; names
 * are looked up at each delivery. Null: nothing.
 * @param toLoopback whether this machine may be told, also without TLS
 */
export function addressFault(text: string, toLoopback: boolean): string | null {
  const url = URL.canParse(text) ? new URL(text) : null;
  if (!url || !/^https?:$/.test(url.protocol))
    return 'Write a whole address, such as https://www.example.org/hooks/officiating.';
  const host = hostOf(url);
  const here = isLoopback(host) || isLoopbackName(host);
  if (url.protocol === 'http:' && !(toLoopback && here)) return 'The address must begin with https://.';
  if (url.username !== '' || url.password !== '')
    return 'Leave name and password out of the address: the signature says who sends.';
  if (url.hash !== '') return 'Leave out the part from # on: it is never sent.';
  if (here && !toLoopback)
    return 'This is the server itself, which is told only where WEBHOOKS_TO_LOOPBACK=on is set, to try out.';
  if (!here && isIP(host) !== 0 && !isPublic(host))
    return 'This address lies inside a network; choose one that is reached from everywhere.';
  return null;
}
