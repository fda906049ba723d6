using System.Globalization;

namespace HilRunner.Transport.Capture;

/// <summary>The files of one capture: <c>link.pcapng</c>, then <c>link.1.pcapng</c>, <c>link.2.pcapng</c> …</summary>
internal static class CaptureParts
{
    public static string PathOf(string path, int part) => part == 0
        ? path
        : Path.ChangeExtension(path, part.ToString(CultureInfo.InvariantCulture) + Path.GetExtension(path));
}
