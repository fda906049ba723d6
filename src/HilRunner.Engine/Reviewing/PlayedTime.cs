using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Host time to stimulus time, through what was actually played: where a sample was late, stimulus time was late with it.
/// Between two frames the lateness is taken to change evenly.
/// </summary>
internal sealed class PlayedTime
{
    private const long NearNs = 20_000_000;
    private const long BeforeNs = 2_000_000_000;
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
    }

    public StimulusTime At(HostTime host) => new(Scaled(host - _origin - LateAt(host - _origin)));

    /// <summary>
    /// The worst lateness among the samples that were due or sent within 20 ms of a moment: a stall of the host then held up more
    /// than the pacing thread.
    /// </summary>
    public long WorstLateNear(HostTime host)
    {
        var (from, to) = Between(host - _origin - NearNs, host - _origin + NearNs);
        long worst = 0;
        for (int i = from; i < to; i++) { worst = Math.Max(worst, _lateNs[i]); }
        return worst;
    }

    /// <summary>
    /// What 99 % of the samples of the two seconds before a moment kept to: how well it is known on the host's clock when something
    /// of the stimulus before that moment was felt.
    /// </summary>
    public long UsualLateBefore(HostTime host)
    {
        var (from, to) = Between(host - _origin - BeforeNs, host - _origin);
        if (from == to) { return 0; }
        long[] late = _lateNs[from..to];
        Array.Sort(late);
        return Math.Max(0, late[(late.Length - 1) * 99 / 100]);
    }

    /// <summary>The frames that were sent after a moment and due by another, in ns since the origin.</summary>
    private (int From, int To) Between(long fromNs, long toNs)
    {
        // Samples are sent in order, so their times rise.
        int from = Array.BinarySearch(_actualNs, fromNs);
        if (from < 0) { from = ~from; }
        int to = from;
        while (to < _actualNs.Length && _actualNs[to] - _lateNs[to] <= toNs) { to++; }
        return (from, to);
    }

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
