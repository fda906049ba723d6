using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals;

/// <summary>The counts of a stimulus in the making: the lead, then step after step.</summary>
internal sealed class DeviceCounts
{
    private readonly InputSpec _input;
    private readonly int _lead;
    private readonly int[][] _counts;
    private readonly long[] _clipped;
    private readonly double[] _firstSecond;
    private readonly int _held;
    private int _next;

    /// <param name="lead">Samples of the lead.</param>
    /// <param name="total">All samples.</param>
    public DeviceCounts(InputSpec input, int lead, int total)
    {
        (_input, _lead) = (input, lead);
        _counts = [.. input.Channels.Select(_ => new int[total])];
        (_clipped, _firstSecond) = (new long[_counts.Length], new double[_counts.Length]);
        _held = (int)Math.Clamp(input.Rate.SamplesBefore(new(StimulusTime.NsPerSecond)), 1, Math.Max(1, total - lead));
    }

    /// <summary>By channel: how many values were cut off at the device's range.</summary>
    public IReadOnlyList<long> Clipped => _clipped;

    /// <param name="motion">The next step's, in g and °/s, by channel.</param>
    public void Add(IReadOnlyList<double[]> motion)
    {
        int length = motion.Count == 0 ? 0 : motion[0].Length;
        for (int c = 0; c < _counts.Length; c++)
        {
            for (int i = 0; i < length && _next + i < _held; i++) { _firstSecond[c] += motion[c][i]; }
            _clipped[c] += Quantiser.Quantise(motion[c], _input.Channels[c], _counts[c].AsSpan(_lead + _next));
        }
        _next += length;
    }

    /// <summary>
    /// With the lead: a device lying still as the motion begins. The mean of the first second of the stimulus, or of all of it
    /// when it is shorter, held.
    /// </summary>
    public IReadOnlyList<int[]> Done()
    {
        for (int c = 0; c < _counts.Length; c++)
        {
            var hold = new double[_lead];
            Array.Fill(hold, _firstSecond[c] / _held);
            _clipped[c] += Quantiser.Quantise(hold, _input.Channels[c], _counts[c].AsSpan(0, _lead));
        }
        return _counts;
    }
}
