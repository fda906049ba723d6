using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// How long a sample may have been on its way to the device unseen. A question that took long shows that the link holds up what it carries; what stalls once may do so between two questions, too. A link keeps its order: a sample had arrived when a question that
/// was sent after it had, and that was at the latest when its answer came.
/// </summary>
internal sealed class StalledWay
{
    /// <summary>A longer round trip is a stall: all of it may lie on the way to the device. No scheduler of a healthy host adds as much.</summary>
    private const long StallNs = 50_000_000;

    private readonly ClockExchange[] _exchanges;

    public StalledWay(ClockReview clocks)
    {
        _exchanges = [.. clocks.Exchanges.OrderBy(e => e.Sent.Ns)];
        Stalls = _exchanges.Any(e => e.DelayNs > StallNs);
    }

    /// <summary>At least one question was held up.</summary>
    public bool Stalls { get; }

    /// <summary>How long what was sent up to a moment may have been held up before it arrived by then; 0 on a link that was not seen to stall.</summary>
    public long HiddenNs(HostTime moment)
    {
        if (!Stalls) { return 0; }
        // The last question that had certainly reached the device by then: all that was sent before it had arrived, too.
        HostTime? arrived = null;
        foreach (var exchange in _exchanges)
        {
            if (exchange.Received <= moment && (arrived is not { } best || exchange.Sent > best)) { arrived = exchange.Sent; }
        }
        return arrived is { } sent ? moment - sent : _exchanges.Max(e => e.DelayNs);
    }
}
