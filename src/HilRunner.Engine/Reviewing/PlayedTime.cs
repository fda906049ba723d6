using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Host time to stimulus time, through what was actually played: where a sample was late, stimulus time was late with it.
/// Between two frames the lateness is taken to change evenly.
/// </summary>
internal sealed class PlayedTime
{
    private readonly HostTime _origin;
    private readonly decimal _speed;
    private readonly long[] _actualNs;
    private readonly long[] _lateNs;

    /// <param name="playout">With due times.</param>
    /// <param name="origin">When the first stimulus sample was due.</param>
    /// <param name="speed">Stimulus seconds per host second.</param>
    public PlayedTime(IReadOnlyList<PlayoutRow> playout, HostTime origin, decimal speed)
    {
        (_origin, _speed) = (origin, speed);
        var due = playout.Where(r => r.DueNs is not null).ToArray();
        _actualNs = [.. due.Select(r => r.ActualNs)];
        _lateNs = [.. due.Select(r => r.ActualNs - r.DueNs!.Value)];
        // Samples are sent in order, so their times rise.
        UsualLateNs = _lateNs.Length == 0 ? 0 : _lateNs.Order().ElementAt((_lateNs.Length - 1) * 99 / 100);
    }

    /// <summary>99 % of the samples were at most this late: how well a moment of the stimulus is known on the host's clock.</summary>
    public long UsualLateNs { get; }

    public StimulusTime At(HostTime host) => new(Scaled(host - _origin - LateAt(host - _origin)));

    /// <summary>A length of host time in stimulus time.</summary>
    public long Scaled(long hostNs) => (long)decimal.Round(hostNs * _speed);

    private long LateAt(long sinceOriginNs)
    {
        if (_actualNs.Length == 0) { return 0; }
        int next = Array.BinarySearch(_actualNs, sinceOriginNs);
        if (next >= 0) { return _lateNs[next]; }
        next = ~next;
        if (next == 0) { return _lateNs[0]; }
        if (next == _actualNs.Length) { return _lateNs[^1]; }
        double share = (double)(sinceOriginNs - _actualNs[next - 1]) / (_actualNs[next] - _actualNs[next - 1]);
        return _lateNs[next - 1] + (long)(share * (_lateNs[next] - _lateNs[next - 1]));
    }
}
