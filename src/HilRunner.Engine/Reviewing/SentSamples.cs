using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>How many samples had been handed to the link at a moment, lead included.</summary>
/// <param name="playout">In the order in which they were sent.</param>
internal sealed class SentSamples(IReadOnlyList<PlayoutRow> playout)
{
    private readonly long[] _actualNs = [.. playout.Select(r => r.ActualNs)];

    /// <summary>The first stimulus sample, once it is known; null: nothing was sent yet.</summary>
    public HostTime? Origin { get; set; }

    public long All => _actualNs.Length;

    public long At(HostTime moment)
    {
        if (Origin is not { } origin) { return 0; }
        int at = Array.BinarySearch(_actualNs, moment - origin);
        if (at < 0) { return ~at; }
        // Frames of several samples carry one time.
        while (at < _actualNs.Length && _actualNs[at] == moment - origin) { at++; }
        return at;
    }
}
