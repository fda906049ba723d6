using HilRunner.Core.Links;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>For links that have no other byte path than a POSIX descriptor.</summary>
internal static class PosixOnly
{
    /// <exception cref="LinkException">Unsupported: this system has none.</exception>
    public static void Check(string name)
    {
        if (!Libc.IsAvailable)
        {
            throw new LinkException(LinkFault.Unsupported, $"{name}: this kind of link is supported on Linux only; use a serial port, or a link in memory, here");
        }
    }
}
