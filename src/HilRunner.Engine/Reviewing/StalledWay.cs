using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// How long a sample may have been on its way to the device unseen. A question in mid-run that took much longer than the others shows that the
/// link stalls; what stalls once may do so between two questions, too. A link keeps its order: a sample had arrived when a question that
/// was sent after it had, and that was at the latest when its answer came.
/// </summary>
internal sealed class StalledWay
{
    /// <summary>A round trip this much longer than the usual one is a stall: no scheduler of a healthy host adds as much.</summary>
    private const long StallNs = 50_000_000;

    private readonly ClockExchange[] _exchanges;

    public StalledWay(ClockReview clocks)
    {
        _exchanges = [.. clocks.Exchanges.OrderBy(e => e.Sent.Ns)];
        long[] delays = [.. _exchanges.Select(e => e.DelayNs).Order()];
        Stalls = delays.Length > 0 && delays[^1] > delays[delays.Length / 2] + StallNs;
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
