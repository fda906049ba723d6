using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>The words for what happens to a link that was open.</summary>
internal static class LinkErrors
{
    public static LinkException Closed(string name) =>
        new(LinkFault.Lost, $"{name}: nothing can be written, the link was closed on this side");

    /// <param name="error">What the system said; None: the other end closed in an orderly way.</param>
    public static LinkException Lost(string name, Errno error) => new(LinkFault.Lost, error switch
    {
        Errno.None => $"{name}: the other end closed the connection",
        Errno.EIO or Errno.ENXIO or Errno.ENODEV =>
            $"{name}: the other end is gone ({error}): unplugged, switched off, or its program ended; check cable and supply, then open it again",
        Errno.EPIPE or Errno.ECONNRESET => $"{name}: the other end broke the connection ({error}); see why it ended, then open it again",
        _ => $"{name}: the system refused to move bytes ({error}); open it again",
    });

    /// <param name="done">Null: not known.</param>
    public static LinkException WriteTimeout(string name, int? done, int of, TimeSpan limit) => new(LinkFault.WriteTimeout, string.Create(
        CultureInfo.InvariantCulture,
        $"{name}: the other end took {(done is { } some ? some : "not all")} of {of} bytes within {limit.TotalMilliseconds:0.###} ms; "
            + $"it may hang, or flow control holds it: see whether the device runs and reads"));
}
