using System.Globalization;
using System.Text.RegularExpressions;
using HilRunner.Core.Links;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Shaking;

/// <summary>The table, its link or its controller is not as it must be: it was told to stop, and nothing of this says anything about the device.</summary>
public sealed class ShakerException(string message, Exception? inner = null) : Exception(message, inner);

/// <param name="PeakG">Acceleration that the table measures.</param>
public readonly record struct ShakerStatus(TableState State, string Word, double PeakG, double? Mm);

/// <summary>
/// Talks to a table's controller, line by line, and is the only one that does: every motion goes through the gate, and whatever goes wrong (an answer that is missing or not understood, a guard, a limit, a table
/// that does what it was not told) stops the table. While it is armed a thread of its own asks for the status, so that the controller's watchdog hears of this process for as long as it lives.
/// </summary>
public sealed class ShakerSession : IDisposable
{
    /// <summary>Below it a table is at rest, its sensor's noise included.</summary>
    private const double RestG = 0.02;
    /// <summary>A table's own measuring, and its settling, take no longer.</summary>
    private const double LagS = 0.75;
    private static readonly TimeSpan s_match = TimeSpan.FromMilliseconds(50), s_rest = TimeSpan.FromSeconds(5),
        s_listen = TimeSpan.FromMilliseconds(300);
    private readonly Shaker _shaker;
    private readonly HostClock _clock;
    private readonly Action<string> _log;
    private readonly LineTalk _line;
    private readonly ReferenceSensor? _reference;
    private readonly PlayedPositions _played;
    private readonly Lock _talk = new();
    private readonly Regex _identity, _done, _refused, _status;
    private readonly WantedLevels _levels;
    private WantedStream? _wanted;
    private MotionGate _gate;
    private StreamGate? _stream;
    private bool _flows;
    // Positions are not answered, unless they are refused: that comes unasked, and must not be passed over.
    private volatile bool _feeds;
    private volatile string? _refusal;
    private double? _gPerVolt;
    private volatile ShakerException? _tripped;
    private volatile bool _beats;
    private double _latestG;
    private Thread? _heart;

    /// <param name="open">Opens its links: disposed with this.</param>
    /// <param name="log">Told every line either way; from several threads.</param>
    /// <param name="before">What the table did before.</param>
    /// <exception cref="LinkException">One cannot be opened.</exception>
    public ShakerSession(Shaker shaker, Func<LinkSpec, ILink> open, HostClock clock, Action<string> log, MovedBefore before = default)
    {
        (_shaker, _clock, _log, _gPerVolt) = (shaker, clock, log, shaker.MostGPerVolt);
        (_identity, _done, _refused, _status) = (Pattern(shaker.Says.Identity), Pattern(shaker.Says.Done), Pattern(shaker.Says.Refused), Pattern(shaker.Says.Status));
        _played = new(shaker.Stream is { } stream ? Pattern(stream.Credit) : null);
        IsGainUnknown = shaker.MostGPerVolt is not null;
        _levels = new(Settles.TotalSeconds, shaker.Reference?.Within.TotalSeconds ?? 0) { IsGainUnknown = IsGainUnknown };
        _gate = new(shaker.Envelope, NowS, before);
        var link = open(shaker.Link);
        _line = new($"shaker {link.Name}", link, clock, log, Unasked);
        try { _reference = shaker.Reference is { } sensor ? new(sensor, open(sensor.Link), clock, log) : null; }
        catch (LinkException)
        {
            _line.Dispose();
            throw;
        }
        _line.Start();
    }

    /// <summary>How much a volt makes is not known until the first motion has measured it: until then the most is taken.</summary>
    public bool IsGainUnknown { get; private set; }

    /// <summary>How long after a change what is measured is that of the change.</summary>
    public TimeSpan Settles => TimeSpan.FromSeconds(LagS) + (_shaker.Reference?.Within ?? TimeSpan.Zero);

    /// <summary>Why it was stopped; null: it was not.</summary>
    public ShakerException? Tripped => _tripped;

    /// <summary>What the table said last, in g, peak; 0: nothing yet.</summary>
    public double LatestG { get => Volatile.Read(ref _latestG); private set => Volatile.Write(ref _latestG, value); }

    /// <summary>It was made ready to move: from then on it has to be brought to rest.</summary>
    public bool WasArmed { get; private set; }

    /// <summary>What was last asked of the table.</summary>
    public SineMotion Commanded { get { lock (_talk) { return _gate.Now; } } }

    /// <summary>How long the table has moved and rested.</summary>
    public MovedBefore Moved { get { lock (_talk) { return _gate.Moved(NowS); } } }

    private string Who => _line.Who;

    private double NowS => _clock.Now.Ns / 1e9;

    /// <summary>Asks who it is.</summary>
    /// <exception cref="ShakerException">It is another instrument, or does not answer.</exception>
    public string Identify()
    {
        lock (_talk)
        {
            string said = Ask(_shaker.Hears.Identity);
            return _identity.IsMatch(said) ? said : throw new ShakerException($"{Who}: it says it is {said}, which says.identity does not describe; nothing was moved: is it the right instrument?");
        }
    }

    /// <exception cref="ShakerException">It does not answer, or in words that its description does not have.</exception>
    public ShakerStatus Status()
    {
        lock (_talk) { return AskStatus(); }
    }

    /// <summary>Makes it ready to move. Only after a person or an interlock has said yes: nothing here asks for that.</summary>
    /// <exception cref="ShakerException">It is not at rest, refuses, or does not answer.</exception>
    public void Arm()
    {
        lock (_talk)
        {
            ThrowIfTripped();
            ThrowIfHeldUp();
            var status = AskStatus();
            if (status.State is not (TableState.Resting or TableState.Armed)) { throw new ShakerException($"{Who}: it is {status.Word}, not at rest; it was not armed"); }
            if (status.PeakG > RestG) { throw new ShakerException(Text($"{Who}: it measures {status.PeakG:0.###} g at rest; it was not armed: does something else move it?")); }
            WasArmed = true;
            _levels.Begin();
            Command(_shaker.Hears.Arm);
            _gate = new(_shaker.Envelope, NowS, _gate.Moved(NowS));
        }
        if (_heart is not null) { return; }
        _beats = true;
        _heart = new Thread(Beat) { IsBackground = true, Name = "shaker heartbeat" };
        _heart.Start();
    }

    /// <summary>
    /// While what the table makes of a sine is not known, so much is not too much: the highest level that it was let move for. 0:
    /// it is known.
    /// </summary>
    public void Learns(double highestG)
    {
        lock (_talk) { _levels.HighestG = highestG; }
    }

    /// <summary>Moves as a sine, or changes its level. Nothing that the gate refuses is sent.</summary>
    /// <param name="motion">What the table is told.</param>
    /// <param name="gain">What it makes of it, over what it is told: its motion is held against the two together.</param>
    /// <exception cref="ShakerException">It was refused, here or by the controller, or the table has been stopped: then it is at rest or on its way there.</exception>
    public void Move(SineMotion motion, double gain = 1)
    {
        lock (_talk)
        {
            ThrowIfTripped();
            if (_stream is not null) { throw Trip(new ShakerException($"{Who}: not sent: a sine while positions are played")); }
            if (_gate.Refuses(motion, NowS) is { } why) { throw Trip(new ShakerException($"{Who}: not sent: {why}")); }
            _levels.Told(NowS, motion, gain);
            try { Command(Written(motion)); }
            catch (ShakerException fault) { throw Trip(fault); }
        }
    }

    /// <summary>How many positions of the stream it has played, and what it measured at them, in g, as far as it said.</summary>
    public (long Played, double[] MeasuredG) Streamed => _played.Now;

    /// <summary>How many positions of the stream it has played.</summary>
    public long Played => _played.Played;

    /// <summary>Tells the controller that positions come. It still stands still.</summary>
    /// <exception cref="ShakerException">It knows no positions, the motion is outside the envelope, it was refused, or the table has been stopped.</exception>
    public void BeginStream(StreamedMotion streamed)
    {
        ArgumentNullException.ThrowIfNull(streamed);
        var motion = streamed.Sent;
        var wanted = new WantedStream(streamed.WantedG ?? motion.ToldG(), motion.Rate.Hertz, _shaker.Envelope,
            streamed.LearningG);
        lock (_talk)
        {
            ThrowIfTripped();
            if (_shaker.Stream is not { } stream || stream.Rate != motion.Rate) { throw new ShakerException($"{Who}: not begun: its description has no stream of {motion.Rate}"); }
            if (motion.Refused(_shaker.Envelope) is { } refused) { throw new ShakerException(Text($"{Who}: not begun: at {refused.AtS:0.00} s: {refused.Why}")); }
            if (_gate.RefusesStream(motion.Length, NowS) is { } why) { throw Trip(new ShakerException($"{Who}: not begun: {why}")); }
            _played.Clear();
            _refusal = null;
            _stream = new(_shaker.Envelope, stream.Rate.Hertz);
            _wanted = wanted;
            try { Command(stream.Begin.Replace("{hz}", stream.Rate.Hertz.ToString("0.###", CultureInfo.InvariantCulture), StringComparison.Ordinal)); }
            catch (ShakerException fault) { throw Trip(fault); }
        }
    }

    /// <summary>Sends as many of the next positions as there is room for. None that the gate refuses is sent.</summary>
    /// <returns>Whether all have been sent.</returns>
    /// <exception cref="ShakerException">One was refused, the link is lost, or the table has been stopped.</exception>
    public bool Feed(TableMotion motion)
    {
        lock (_talk)
        {
            ThrowIfTripped();
            if (_refusal is { } refusal) { throw Trip(WhyRefused(refusal)); }
            if (_stream is not { } gate || _shaker.Stream is not { } stream) { throw new ShakerException($"{Who}: no stream was begun"); }
            ThrowIfAhead();
            long played = _played.Played;
            while (gate.Passed < motion.Nm.Count)
            {
                int next = (int)gate.Passed, count = Math.Min(stream.PerMessage, motion.Nm.Count - next);
                if (next + count - played > stream.Buffer) { return false; }
                for (int k = next; k < next + count; k++)
                {
                    if (gate.Refuses(motion.Nm[k]) is { } why) { throw Trip(new ShakerException($"{Who}: position {k} not sent: {why}")); }
                }
                _feeds = true;
                try { Send(Written(stream.Positions, motion.Nm.Skip(next).Take(count))); }
                catch (LinkException fault) { throw Trip(new ShakerException($"{Who}: {fault.Message}", fault)); }
            }
            return true;
        }
    }

    /// <summary>
    /// Holds what was measured since the last call against what is wanted. To be called every few milliseconds.
    /// </summary>
    /// <exception cref="ShakerException">The table does something else, or has been stopped.</exception>
    public void Watch()
    {
        lock (_talk)
        {
            ThrowIfTripped();
            if (_stream is not null) { WatchStream(); }
        }
    }

    private void WatchStream()
    {
        if (_wanted?.Take(_played.From(_wanted.Taken)) is not { } why) { return; }
        throw Trip(new ShakerException($"{Who}: {why}: it was stopped"));
    }

    /// <summary>The stream's positions begin to move the table.</summary>
    /// <exception cref="ShakerException">It was refused, or the table has been stopped.</exception>
    public void Go()
    {
        lock (_talk)
        {
            ThrowIfTripped();
            try { Command(_shaker.Stream!.Go); }
            catch (ShakerException fault) { throw Trip(_refusal is { } refusal ? Refused(refusal) : fault); }
            _flows = true;
        }
    }

    /// <summary>All positions have been sent: it comes to rest after the last.</summary>
    /// <exception cref="ShakerException">The last is not at rest, it was refused, or the table has been stopped.</exception>
    public void EndStream()
    {
        lock (_talk)
        {
            ThrowIfTripped();
            if (_stream is { IsAtRest: false }) { throw Trip(new ShakerException($"{Who}: the stream does not end at rest in the middle: it was stopped")); }
            (_flows, _feeds) = (false, false);
            try { Command(_shaker.Stream!.End); }
            catch (ShakerException fault) { throw Trip(fault); }
            if (_refusal is { } refusal) { throw Trip(Refused(refusal)); }
        }
    }

    /// <summary>The stream was played and the table stands still: from now on it rests.</summary>
    /// <exception cref="ShakerException">It says that it has played more than was sent.</exception>
    public void EndMotion()
    {
        lock (_talk)
        {
            ThrowIfAhead();
            _stream = null;
            _gate.Stopped(NowS);
        }
    }

    /// <summary>Stops it for a reason of its driver's.</summary>
    /// <returns>To be thrown.</returns>
    public ShakerException StopFor(string why)
    {
        lock (_talk) { return Trip(new ShakerException($"{Who}: {why}: it was stopped")); }
    }

    /// <summary>A volt makes this much less than the most that it could: from now on commands say so.</summary>
    /// <param name="ofTheMost">Above 0, at most 1.</param>
    /// <exception cref="ShakerException">It moves: a command would mean something else all of a sudden.</exception>
    public void Calibrate(double ofTheMost)
    {
        lock (_talk)
        {
            if (_gate.Now.PeakG != 0 || ofTheMost is not (> 0 and <= 1)) { throw Trip(new ShakerException(Text($"{Who}: its gain was measured as {ofTheMost:0.###} of the most that it can be while told {_gate.Now.PeakG:0.###} g"))); }
            (_gPerVolt, IsGainUnknown) = (_shaker.MostGPerVolt * ofTheMost, false);
            _levels.IsGainUnknown = false;
        }
    }

    /// <summary>Brings it to rest and waits until it says that it is.</summary>
    /// <exception cref="ShakerException">It does not come to rest, or does not say so: cut its power.</exception>
    public void Stop()
    {
        _beats = false;
        _heart?.Join();
        _heart = null;
        HostTime end = _clock.Now + s_rest;
        lock (_talk)
        {
            SendStop();
            while (true)
            {
                ShakerStatus status;
                try { status = AskStatus(); }
                catch (ShakerException fault) { throw new ShakerException($"{fault.Message}; it was told to stop, and is not known to have: cut its power if it moves", fault); }
                if (status.State is TableState.Resting or TableState.Armed or TableState.Interlock or TableState.Limit or TableState.Hot or TableState.Fault && status.PeakG <= RestG) { return; }
                if (_clock.Now > end) { throw new ShakerException(Text($"{Who}: told to stop, it is still {status.Word} at {status.PeakG:0.###} g after {s_rest.TotalSeconds:0} s: cut its power")); }
                _line.Wait(_shaker.Heartbeat);
            }
        }
    }

    /// <summary>Whatever is under way, the stop is sent; then the link is let go of.</summary>
    public void Dispose()
    {
        _beats = false;
        _heart?.Join();
        lock (_talk) { if (_heart is not null) { SendStop(); } }
        _line.Dispose();
        _reference?.Dispose();
    }

    /// <summary>
    /// A machine that is held up for longer than the watchdog waits would have the table stopped again and again: better not to
    /// begin.
    /// </summary>
    private void ThrowIfHeldUp()
    {
        if (_shaker.Watchdog is not { } watchdog) { return; }
        long longest = 0, most = watchdog.Ticks * 100 / 2;
        HostTime last = _clock.Now, end = last + s_listen;
        while (last < end)
        {
            _line.Wait(TimeSpan.FromMilliseconds(1));
            HostTime now = _clock.Now;
            (longest, last) = (Math.Max(longest, now - last), now);
        }
        if (longest > most) { throw new ShakerException(Text($"{Who}: this machine was held up for {longest / 1e6:0} ms while it only waited, and the table's watchdog waits for {watchdog.TotalMilliseconds:0} ms: it was not armed; end what else runs here, or set a longer watchdog in the controller and in shaker.watchdog")); }
    }

    private void Beat()
    {
        while (_beats && _tripped is null)
        {
            HostTime next = _clock.Now + _shaker.Heartbeat;
            lock (_talk)
            {
                if (!_beats || _tripped is not null) { break; }
                try { Judge(AskStatus()); }
                catch (ShakerException fault) { Trip(fault); }
                catch (RegexMatchTimeoutException) { Trip(new ShakerException($"{Who}: what it said keeps its description's pattern busy for longer than {s_match.TotalMilliseconds:0} ms: it was stopped")); }
            }
            long left = next - _clock.Now;
            for (; left > 0 && _beats && _tripped is null; left = next - _clock.Now) { _line.Wait(TimeSpan.FromTicks(left / 100 + 1)); }
        }
    }

    /// <summary>What the table does against what it was told.</summary>
    private void Judge(ShakerStatus status)
    {
        var told = _gate.Now;
        ThrowIfAhead();
        if (IsBroken(status)) { throw new ShakerException($"{Who}: {status.Word}: it was stopped"); }
        if (_refusal is { } refusal) { throw Refused(refusal); }
        if ((told.PeakG > 0 || _flows) && status.State is TableState.Resting or TableState.Stopping) { throw new ShakerException($"{Who}: it says {status.Word} and was told to move: its watchdog or somebody stopped it"); }
        if (_stream is not null) { WatchStream(); }
        // A controller that says nothing of each position is judged by its status.
        double? streamed = _flows && _wanted is { Taken: 0 } unsaid
            ? unsaid.LeastLatelyG(_played.Played, _levels.SeenS + LagS) : null;
        var (lately, why) = _levels.Judge(NowS, status.PeakG, streamed);
        if (why is not null) { throw new ShakerException($"{Who}: {why}: it was stopped"); }
        // Half as much again as is wanted, and a little, is more than a table makes that is as it was described.
        lately = Math.Max(lately, _wanted is { } stream ? stream.LatelyG(_played.Played, LagS) : 0);
        double most = Math.Min((1 + MotionWatch.Share) * lately + WantedLevels.FloorG, _shaker.Envelope.PeakG * 1.1);
        if (status.PeakG > most) { throw new ShakerException(Text($"{Who}: it moves with {status.PeakG:0.###} g, wanted {lately:0.###} g: it was stopped")); }
        if (_gate.IsOverdue(NowS)) { throw new ShakerException(Text($"{Who}: moving for longer than {_shaker.Envelope.Longest.TotalSeconds:0} s: it was stopped to rest")); }
    }

    /// <summary>Credit is room for more positions: what was never sent cannot have been played.</summary>
    private void ThrowIfAhead()
    {
        if (_stream is { } gate && _played.Played is var played && played > gate.Passed)
        {
            throw Trip(new ShakerException($"{Who}: it says that it has played {played} positions, and {gate.Passed} were sent: it was stopped"));
        }
    }

    private ShakerException Trip(ShakerException fault)
    {
        _tripped ??= fault;
        SendStop();
        return fault;
    }

    private void SendStop()
    {
        (_stream, _flows, _feeds) = (null, false, false);
        _gate.Stopped(NowS);
        try { Send(_shaker.Hears.Stop); }
        catch (LinkException fault) { _log($"  stop was not sent: {fault.Message}"); }
    }

    private void ThrowIfTripped()
    {
        if (_tripped is { } why) { throw new ShakerException(why.Message, why); }
    }

    private void Command(string line)
    {
        string said = Ask(line);
        if (_refused.Match(said) is { Success: true } no) { throw new ShakerException($"{Who}: {line} was refused: {no.Groups["why"].Value}"); }
        if (!_done.IsMatch(said)) { throw new ShakerException($"{Who}: {line} was answered by \"{said}\", which its description does not have; it was stopped"); }
    }

    private ShakerStatus Understood(string said)
    {
        if (_status.Match(said) is not { Success: true } match) { throw new ShakerException($"{Who}: its status \"{said}\" is nothing that its description has"); }
        string word = match.Groups["state"].Value;
        if (!_shaker.Says.States.TryGetValue(word, out var state)) { throw new ShakerException($"{Who}: it is \"{word}\", a state that says.states does not have"); }
        if ((_reference?.PeakG ?? Number(match.Groups["g"].Value)) is not { } g) { throw new ShakerException($"{Who}: its status \"{said}\" has no number for g"); }
        LatestG = Math.Abs(g);
        return new(state, word, LatestG, match.Groups["mm"] is { Success: true } place ? Number(place.Value) : null);
    }

    /// <summary>What answers a stop may still be on its way.</summary>
    private ShakerStatus AskStatus() => Understood(Ask(_shaker.Hears.Status, said => _done.IsMatch(said) || _refused.IsMatch(said)));

    private static bool IsBroken(ShakerStatus status) =>
        status.State is TableState.Interlock or TableState.Limit or TableState.Hot or TableState.Fault;

    /// <summary>A table that stopped by itself refuses what comes: its state says why. It is told to stop first.</summary>
    private ShakerException WhyRefused(string refusal)
    {
        SendStop();
        try
        {
            var status = AskStatus();
            if (IsBroken(status)) { return new($"{Who}: {status.Word}: it was stopped"); }
        }
        catch (ShakerException fault) { _log($"  its state was not said: {fault.Message}"); }
        return Refused(refusal);
    }

    private ShakerException Refused(string refusal) => new($"{Who}: positions were refused: {refusal}: it was stopped");

    /// <summary>Credit, and that positions were refused. On the link's thread.</summary>
    private bool Unasked(string line)
    {
        if (_played.Take(line)) { return true; }
        try
        {
            if (!_feeds || !_refused.IsMatch(line)) { return false; }
            _refusal ??= line;
            return true;
        }
        catch (RegexMatchTimeoutException) { return false; }
    }

    private string Ask(string line, Func<string, bool>? late = null) => _line.Ask(line, _shaker.Answer, late);

    private void Send(string line) => _line.Send(line);

    private string Written(SineMotion motion)
    {
        // An amplitude is cut, never rounded up: what is written is no more than what was let through.
        string text = _shaker.Hears.Sine.Replace("{hz}", motion.Hz.ToString("0.######", CultureInfo.InvariantCulture), StringComparison.Ordinal);
        foreach (var (name, value) in new[] { ("mm", motion.Displacement * 1e3), ("um", motion.Displacement * 1e6), ("g", motion.PeakG), ("v", motion.PeakG / (_gPerVolt ?? 1)) })
        {
            text = text.Replace($"{{{name}}}", (Math.Floor(value * 1e6) / 1e6).ToString("0.######", CultureInfo.InvariantCulture), StringComparison.Ordinal);
        }
        return text;
    }

    /// <summary>Whole nanometres, exactly.</summary>
    private static string Written(string template, IEnumerable<long> positions)
    {
        string Numbers(decimal nm, string format) => string.Join(' ', positions.Select(p => (p / nm).ToString(format, CultureInfo.InvariantCulture)));
        return template.Contains("{mm}", StringComparison.Ordinal) ? template.Replace("{mm}", Numbers(1_000_000, "0.######"), StringComparison.Ordinal) : template.Replace("{um}", Numbers(1000, "0.###"), StringComparison.Ordinal);
    }

    private static Regex Pattern(string text) => new(text, RegexOptions.CultureInvariant, s_match);

    private static double? Number(string text) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value) ? value : null;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
