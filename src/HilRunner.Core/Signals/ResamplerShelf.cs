using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals;

/// <summary>One filter for each ratio: for rates with no round ratio it has millions of taps.</summary>
internal sealed class ResamplerShelf
{
    private readonly Dictionary<(long Up, long Down), PolyphaseResampler?> _made = [];

    /// <param name="ratio">In lowest terms.</param>
    /// <returns>Null where the ratio is beyond the limits.</returns>
    public PolyphaseResampler? Get((long Up, long Down) ratio)
    {
        if (!_made.TryGetValue(ratio, out var resampler)) { _made.Add(ratio, resampler = PolyphaseResampler.Of(ratio)); }
        return resampler;
    }
}
