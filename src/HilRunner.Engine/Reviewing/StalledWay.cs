using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// How long a sample may have been on its way to the device unseen. A question that took long shows that the link holds up what
/// it carries; what stalls once may do so between two questions, too. A link keeps its order: a sample had arrived when a
/// question that was sent after it had, and that was at the latest when its answer came.
/// </summary>
internal sealed class StalledWay
{
    /// <summary>
    /// A round trip this much longer than the usual one is a stall: no scheduler of a healthy host adds as much.
    /// </summary>
    private const long StallNs = 50_000_000;

    /// <summary>A longer one is a stall even where it is usual: all of it may lie on the way to the device.</summary>
    private const long LongestUsualNs = 100_000_000;

    /// <summary>So many long round trips are no accident: such a link may hold samples up anywhere.</summary>
    private const int FewestOfAHabit = 3;

    /// <summary>Longer than the usual round trip by this much: noticeable, and no stall yet.</summary>
    private const long NoticeableNs = 10_000_000;

    private readonly ClockExchange[] _exchanges;
    private readonly bool _always;
    private readonly long _usualNs;
    private readonly long _stallNs = LongestUsualNs;

    public StalledWay(ClockReview clocks)
    {
        _exchanges = [.. clocks.Exchanges.OrderBy(e => e.Sent.Ns)];
        if (_exchanges.Length > 0)
        {
            _usualNs = _exchanges.Select(e => e.DelayNs).Order().ElementAt(_exchanges.Length / 2);
            _stallNs = Math.Min(LongestUsualNs, _usualNs + StallNs);
        }
        _always = _exchanges.Count(IsStall) >= FewestOfAHabit;
    }

    /// <summary>
    /// How long what was sent up to a moment may have been held up before it arrived by then; 0 where no question near it took
    /// long, and not many elsewhere.
    /// </summary>
    public long HiddenNs(HostTime moment)
    {
        // The last question that had certainly reached the device by then: all that was sent before it had arrived, too.
        ClockExchange? arrived = null, next = null;
        foreach (var exchange in _exchanges)
        {
            if (exchange.Received <= moment) { arrived = exchange; }
            else
            {
                next = exchange;
                break;
            }
        }
        bool near = (arrived is { } before && IsStall(before)) || (next is { } after && IsStall(after));
        if (!near && !_always) { return 0; }
        return arrived is { } last ? moment - last.Sent : _exchanges.Max(e => e.DelayNs);
    }

    /// <summary>
    /// Stretches in which something was held up on its way to the device: it had arrived when the next question was answered. So
    /// it is where a question before it was still on its way and took noticeably longer than usual, and where the next one
    /// stalled.
    /// </summary>
    /// <param name="origin">What the times count from.</param>
    public IReadOnlyList<HeldUp> HeldUp(HostTime origin)
    {
        var stretches = new List<HeldUp>();
        for (int i = 0; i < _exchanges.Length; i++)
        {
            ClockExchange before = _exchanges[i];
            ClockExchange? next = i + 1 < _exchanges.Length ? _exchanges[i + 1] : null;
            bool nextStalls = next is { } stalled && IsStall(stalled);
            if (!nextStalls && before.DelayNs <= _usualNs + NoticeableNs) { continue; }
            long from = before.Sent - origin, to = nextStalls ? next!.Value.Sent - origin : before.Received - origin;
            long by = before.Received - origin;
            if (next is { } later) { (to, by) = (Math.Min(to, later.Sent - origin), Math.Max(by, later.Received - origin)); }
            stretches.Add(new(from, to, by));
        }
        return stretches;
    }

    private bool IsStall(ClockExchange exchange) => exchange.DelayNs > _stallNs;
}
