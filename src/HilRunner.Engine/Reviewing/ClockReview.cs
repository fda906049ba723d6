using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>What an answer to a clock question says about the clock itself.</summary>
internal enum ClockStep { None, BeganAnew, Jumped }

/// <summary>
/// Gathers questions and answers about the device's clock. Each start of the device begins a new epoch, and so does a clock that
/// stands where it cannot have run to: nothing that was known of the old one holds for the new one.
/// </summary>
internal sealed class ClockReview
{
    /// <summary>A clock that ran this much faster or slower than the host's since the last answer has jumped.</summary>
    private const double LargestRateError = 0.1;
    /// <summary>Clocks of fewer bits wrap too often to be told from jumping ones.</summary>
    private const int FewestBits = 32;

    private readonly ClockQuery? _query;
    private readonly Dictionary<ulong, HostTime> _asked = [];
    private readonly List<List<ClockExchange>> _epochs = [[]];
    private readonly Dictionary<int, ClockMap?> _maps = [];
    private TickUnwrapper? _ticks;
    private int _questions;

    public ClockReview(ClockQuery? query)
    {
        _query = query;
        NewUnwrapper();
    }

    public int Epoch => _epochs.Count - 1;

    public int Answers => _epochs.Sum(e => e.Count);

    public int Unanswered => _questions - Answers;

    /// <summary>The epoch with the most answers: what is known of the clock's rate is known from there.</summary>
    public int LongestEpoch => _epochs.IndexOf(_epochs.MaxBy(e => e.Count)!);

    /// <summary>When the last answer of this epoch arrived; null: none did.</summary>
    public HostTime? LastAnswer => _epochs[^1].Count == 0 ? null : _epochs[^1][^1].Received;

    public IEnumerable<ClockMap> Maps => Enumerable.Range(0, _epochs.Count).Select(MapOf).OfType<ClockMap>();

    public void OnAsked(ulong token, HostTime sent)
    {
        _questions++;
        _asked[token] = sent;
    }

    /// <summary>An answer; one to no question is passed over.</summary>
    public ClockStep OnAnswer(ulong token, ulong ticks, HostTime firstByte)
    {
        if (_ticks is null || !_asked.Remove(token, out HostTime sent)) { return ClockStep.None; }
        var exchange = new ClockExchange(sent, _ticks.Unwrap(ticks, firstByte), firstByte);
        ClockStep step = StepAt(exchange, ticks);
        if (step != ClockStep.None)
        {
            Restart();
            exchange = exchange with { Device = _ticks.Unwrap(ticks, firstByte) };
        }
        _epochs[^1].Add(exchange);
        return step;
    }

    /// <summary>A stamp of the running epoch, unwrapped; null where the device has no clock to ask.</summary>
    public DeviceTime? Stamp(ulong? ticks, HostTime firstByte) =>
        ticks is { } value && _ticks is not null ? _ticks.Unwrap(value, firstByte) : null;

    /// <summary>The device started anew.</summary>
    public void Restart()
    {
        _epochs.Add([]);
        NewUnwrapper();
    }

    /// <summary>Null where no answer was seen in that epoch.</summary>
    public ClockMap? MapOf(int epoch)
    {
        if (_query is null) { return null; }
        if (!_maps.TryGetValue(epoch, out ClockMap? map)) { _maps[epoch] = map = ClockMap.Fit(_epochs[epoch], _query.TickNs, _query.TolerancePpm); }
        return map;
    }

    private ClockStep StepAt(ClockExchange now, ulong ticks)
    {
        if (_query!.Bits < FewestBits || _epochs[^1].Count == 0) { return ClockStep.None; }
        ClockExchange before = _epochs[^1][^1];
        double gone = now.Device.Ns - before.Device.Ns;
        double atLeast = Math.Max(0, now.Sent - before.Received) * (1 - LargestRateError) - _query.TickNs;
        double atMost = (now.Received - before.Sent) * (1 + LargestRateError) + _query.TickNs;
        if (gone >= atLeast && gone <= atMost) { return ClockStep.None; }
        return ticks * _query.TickNs <= atMost ? ClockStep.BeganAnew : ClockStep.Jumped;
    }

    private void NewUnwrapper() => _ticks = _query is null ? null : new(_query.Bits, _query.TickNs);
}
