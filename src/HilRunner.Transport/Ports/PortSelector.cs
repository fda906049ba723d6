using System.Globalization;
using HilRunner.Core.Links;

namespace HilRunner.Transport.Ports;

/// <summary>
/// Turns what a rig file says about a port into a path, anew each time: a board that was plugged in again may have another path.
/// Two boards that fit are never chosen between.
/// </summary>
public static class PortSelector
{
    private const string Prefix = "usb:";

    /// <param name="port">A path, which is returned as it is, or <c>usb:vid:pid[:serial][:interface]</c>, ids and interface hexadecimal.</param>
    /// <exception cref="LinkException">Missing, Ambiguous (lists the candidates) or WrongKind (not a selector).</exception>
    public static string Resolve(string port, PortLister lister)
    {
        if (!port.StartsWith(Prefix, StringComparison.OrdinalIgnoreCase)) { return port; }
        string[] parts = port[Prefix.Length..].Split(':', 3);
        if (parts.Length < 2 || ParseId(parts[0]) is not { } vendor || ParseId(parts[1]) is not { } product)
        {
            throw new LinkException(LinkFault.WrongKind,
                $"port \"{port}\" is no USB selector; expected usb:vid:pid[:serial][:interface] with hexadecimal ids, for instance usb:1209:0001:A7F3");
        }
        string rest = parts.Length == 3 ? parts[2] : "";
        IReadOnlyList<PortInfo> all = lister.List();
        PortInfo[] found = [.. all.Where(p => p.Usb is { } usb && usb.VendorId == vendor && usb.ProductId == product && Fits(usb, rest))];
        return found.Length switch
        {
            1 => found[0].Path,
            0 => throw new LinkException(LinkFault.Missing,
                $"no port fits \"{port}\"; {Describe(all)}; plug the board in, or correct the port in the rig file"),
            _ => throw new LinkException(LinkFault.Ambiguous,
                $"{found.Length} ports fit \"{port}\": {string.Join(", ", found.Select(Describe))}; name one of them by its serial number, its interface or its path"),
        };
    }

    /// <summary>
    /// Serial numbers may hold colons, so the rest is compared as a whole, not taken apart. An interface alone fits only boards without a
    /// serial number: it must not lead to another board when the one whose serial number looks like it is not plugged in.
    /// </summary>
    private static bool Fits(UsbIdentity usb, string rest) =>
        rest.Length == 0 || rest == usb.Serial
        || (usb.Interface is { } number && string.Equals(rest, UsbIdentity.Join(usb.Serial, number), StringComparison.OrdinalIgnoreCase)
            && rest.StartsWith(usb.Serial ?? "", StringComparison.Ordinal));

    internal static string Describe(IReadOnlyList<PortInfo> ports) =>
        ports.Count == 0 ? "this machine has no serial ports now" : "there are: " + string.Join(", ", ports.Select(Describe));

    private static string Describe(PortInfo port) =>
        port.Usb is null ? port.Path : $"{port.Usb.Selector} ({port.Path}{(port.Usb.Product is { } product ? ", " + product : "")})";

    private static int? ParseId(string text) =>
        text.Length is > 0 and <= 4 && int.TryParse(text, NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int id) ? id : null;
}
