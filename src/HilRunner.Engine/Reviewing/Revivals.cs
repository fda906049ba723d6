using HilRunner.Core.Capture;

namespace HilRunner.Engine.Reviewing;

/// <summary>What captures say of a silent device that was asked again.</summary>
public static class Revivals
{
    /// <summary>In the order in which it was tried: after what, and whether an answer came.</summary>
    /// <exception cref="InvalidDataException">The capture is not one.</exception>
    public static IEnumerable<(string By, bool Answered)> Read(ICaptureReader capture)
    {
        while (capture.TryRead(out CaptureRecord record))
        {
            if (record.Event is { Name: RunEventNames.Revival } asked && Of(asked) is { } revival) { yield return revival; }
        }
    }

    internal static (string By, bool Answered)? Of(RunEvent asked) =>
        asked.Details.TryGetValue("by", out string? by) && asked.Details.TryGetValue("answered", out string? answered)
        ? (by, answered == "true") : null;
}
