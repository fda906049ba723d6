using HilRunner.Core.Time;

namespace HilRunner.Core.Signals;

/// <summary>One filter for each pair of rates: for rates with no round ratio it has millions of taps.</summary>
internal sealed class ResamplerShelf
{
    private readonly Dictionary<(SampleRate From, SampleRate To), PolyphaseResampler?> _made = [];

    /// <returns>Null where the ratio is beyond the limits.</returns>
    public PolyphaseResampler? Get(SampleRate from, SampleRate to)
    {
        if (!_made.TryGetValue((from, to), out var resampler)) { _made.Add((from, to), resampler = PolyphaseResampler.Between(from, to)); }
        return resampler;
    }
}
