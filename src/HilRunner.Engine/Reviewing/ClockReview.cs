using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Gathers questions and answers about the device's clock. Each start of the device begins a new epoch, and so does a clock that
/// stands where it cannot have run to: nothing that was known of the old one holds for the new one.
/// </summary>
internal sealed class ClockReview
{
    /// <summary>A clock that ran this much faster or slower than the host's since the last answer began anew.</summary>
    private const double LargestRateError = 0.1;
    /// <summary>Clocks of fewer bits wrap too often to be told from jumping ones.</summary>
    private const int FewestBits = 32;

    /// <summary>Answers that agree with each other before a clock counts as known, where no check sum guards them.</summary>
    private const int FewestOfAClock = 2;

    private readonly ClockQuery? _query;
    private readonly bool _guarded;
    private readonly List<List<ClockExchange>> _epochs = [[]];
    private readonly Dictionary<int, ClockMap?> _maps = [];
    private TickUnwrapper? _ticks;
    private (HostTime Sent, ulong Ticks, HostTime Received, bool Begun)? _doubted;

    /// <param name="query">How it is asked; null: it has no clock.</param>
    /// <param name="guarded">A check sum guards what the device says: one answer is enough to believe that its clock began anew.</param>
    public ClockReview(ClockQuery? query, bool guarded)
    {
        _query = query;
        _guarded = guarded;
        NewUnwrapper();
    }

    public QuestionLog Questions { get; } = new();

    public int Epoch => _epochs.Count - 1;

    public int Answers => _epochs.Sum(e => e.Count);

    public int Unanswered => Questions.Asked - Questions.Answered;

    /// <summary>Answers that no running clock can have given, and that the next answer did not confirm: garbled on their way.</summary>
    public int Garbled { get; private set; }

    /// <summary>The last answer stands where the clock cannot have run to, and no other came after it: a reset, or a garbled answer.</summary>
    public bool EndsInDoubt => _doubted is not null;

    /// <summary>The epoch with the most answers: what is known of the clock's rate is known from there.</summary>
    public int LongestEpoch => _epochs.IndexOf(_epochs.MaxBy(e => e.Count)!);

    /// <summary>When the last answer of this epoch arrived; null: none did.</summary>
    public HostTime? LastAnswer => _epochs[^1].Count == 0 ? null : _epochs[^1][^1].Received;

    public IEnumerable<ClockMap> Maps => Enumerable.Range(0, _epochs.Count).Select(MapOf).OfType<ClockMap>();

    /// <summary>The exchanges of all epochs, in the order in which they were answered.</summary>
    public IEnumerable<ClockExchange> Exchanges => _epochs.SelectMany(e => e);

    public void OnAsked(ulong token, HostTime sent, bool midRun) => Questions.Ask(token, sent, midRun);

    /// <summary>An answer; one to no question is passed over.</summary>
    /// <returns>
    /// True where the clock began anew since the last answer: a reset. Without a check sum the next answer must agree, since a garbled answer
    /// looks the same; and one answer alone, which may itself have been garbled, is no clock that a later one could have begun anew from.
    /// </returns>
    /// <param name="begun">The run had begun when it came: what happened before is no reset in mid-run.</param>
    public bool OnAnswer(ulong token, ulong ticks, HostTime firstByte, bool begun)
    {
        if (_ticks is null || Questions.Answer(token, firstByte) is not { } sent) { return false; }
        if (Follows(_epochs[^1].Count == 0 ? null : _epochs[^1][^1], sent, _ticks.Peek(ticks, firstByte), firstByte))
        {
            if (_doubted is not null) { Garbled++; }
            _doubted = null;
            _epochs[^1].Add(new(sent, _ticks.Unwrap(ticks, firstByte), firstByte));
            return false;
        }
        if (!_guarded && !(_doubted is { } doubted && FollowsDoubted(doubted, sent, ticks, firstByte)))
        {
            if (_doubted is not null) { Garbled++; }
            _doubted = (sent, ticks, firstByte, begun);
            return false;
        }
        var first = _doubted;
        bool known = _guarded || _epochs[^1].Count >= FewestOfAClock;
        if (!known) { Garbled += _epochs[^1].Count; }
        Restart();
        if (first is { } began) { _epochs[^1].Add(new(began.Sent, _ticks.Unwrap(began.Ticks, began.Received), began.Received)); }
        _epochs[^1].Add(new(sent, _ticks.Unwrap(ticks, firstByte), firstByte));
        return known && (first?.Begun ?? begun);
    }

    /// <summary>A stamp of the running epoch, unwrapped; null where the device has no clock to ask.</summary>
    public DeviceTime? Stamp(ulong? ticks, HostTime firstByte) =>
        ticks is { } value && _ticks is not null ? _ticks.Unwrap(value, firstByte) : null;

    /// <summary>The device started anew.</summary>
    public void Restart()
    {
        _doubted = null;
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

    /// <summary>The clock can have run from one stamp to another. Clocks of few bits wrap too often to say no.</summary>
    private bool Follows(ClockExchange? before, HostTime sent, DeviceTime device, HostTime received)
    {
        if (_query!.Bits < FewestBits || before is not { } last) { return true; }
        double gone = device.Ns - last.Device.Ns;
        double atLeast = Math.Max(0, sent - last.Received) * (1 - LargestRateError) - _query.TickNs;
        double atMost = (received - last.Sent) * (1 + LargestRateError) + _query.TickNs;
        return gone >= atLeast && gone <= atMost;
    }

    private bool FollowsDoubted((HostTime Sent, ulong Ticks, HostTime Received, bool Begun) doubted, HostTime sent, ulong ticks, HostTime received)
    {
        var anew = new TickUnwrapper(_query!.Bits, _query.TickNs);
        var first = new ClockExchange(doubted.Sent, anew.Unwrap(doubted.Ticks, doubted.Received), doubted.Received);
        return Follows(first, sent, anew.Unwrap(ticks, received), received);
    }

    private void NewUnwrapper() => _ticks = _query is null ? null : new(_query.Bits, _query.TickNs);
}
