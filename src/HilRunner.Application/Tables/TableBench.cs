using System.Globalization;
using HilRunner.Application.Benches;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Shaking;
using HilRunner.Transport.Locks;

namespace HilRunner.Application.Tables;

/// <summary>
/// A rig's table while a command moves it. It moves nothing before a person at the terminal, or an interlock, has said yes, and however the command ends it is brought to rest.
/// </summary>
internal sealed class TableBench : IAsyncDisposable
{
    private readonly IOperator _person;
    private readonly StreamWriter _log;
    private readonly bool _interlockAnswers;
    private readonly RigLock _lock;
    private readonly TableHistory? _history;
    private readonly CancellationTokenSource _over = new();
    private Task _kept = Task.CompletedTask;

    /// <param name="interlockAnswers">Nobody is asked: an interlock answers.</param>
    /// <exception cref="Core.Links.LinkException">The controller's link cannot be opened, or another call drives this table.</exception>
    public TableBench(JobContext context, Rig rig, bool interlockAnswers, string logPath)
    {
        _person = context.Operator;
        (Shaker, _interlockAnswers) = (rig.Shaker!, interlockAnswers);
        // One table may carry the devices of several rigs.
        _lock = RigLock.Take(context, Shaker.Link, $"the table of rig {rig.Name}");
        _history = RigLock.NoteOn(Shaker.Link, "moved") is { } note ? new(note, context.Clock) : null;
        uint? by = null;
        var before = _history?.Read(Shaker.Envelope.Rest, out by) ?? default;
        if (by is { } user && user != LockHolder.ThisUser)
        {
            _person.Tell(
                string.Create(CultureInfo.InvariantCulture,
                    $"the table of rig {rig.Name} has moved for {before.MovedS:0} s without a rest, as a call of user {user} has noted"));
        }
        _log = PlainFile.CreateText(logPath);
        Session = new(Shaker, context.Links.Open, context.Clock, line => { lock (_log)
        {
            _log.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{context.Clock.Now.Ns / 1e9:0.0000} {line}"));
        }
        }, before);
        Sines = new(Session, Shaker.Envelope, context.Clock);
    }

    public Shaker Shaker { get; }

    public ShakerSession Session { get; }

    public SineDrive Sines { get; }

    /// <summary>Everything of a command line that can be refused before the table is spoken to.</summary>
    /// <param name="interlockAnswers">Whether an interlock answers instead of a person; null: nothing is moved.</param>
    /// <exception cref="UsageException">The rig has no table, or nobody could say that it may move.</exception>
    public static void Check(IOperator person, Rig rig, bool? interlockAnswers, string speed)
    {
        if (rig.Shaker is null) { throw new UsageException($"--shaker: rig {rig.Name} has no shaker; rigs/README.md says how to describe one"); }
        if (speed.Length > 0) { throw new UsageException("--speed: a table moves in real time: leave --speed out"); }
        if (interlockAnswers == true
            && rig.Shaker.Watchdog is null) { throw new UsageException($"{TableOrder.InterlockOption}: rig {rig.Name}'s table does not stop by itself when this computer fails (shaker.watchdog): it is not driven unless somebody stands by it: leave {TableOrder.InterlockOption} out"); }
        if (interlockAnswers == false
            && !person.IsThere) { throw new UsageException($"--shaker: nobody is at a terminal to say that the table may move; with an interlock that answers for them say {TableOrder.InterlockOption}"); }
    }

    /// <summary>What moves, and how it is stopped, for whoever stands by.</summary>
    public void Tell(string moves) => _person.Tell($"{moves}; Ctrl-C stops it");

    /// <summary>Says what will move, asks for leave, and arms it.</summary>
    /// <param name="first">How low it moves first.</param>
    /// <exception cref="ShakerException">It is not the right one or not at rest; or the person did not say yes.</exception>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    public async Task ArmAsync(string motion, string first, CancellationToken stop)
    {
        Session.Identify();
        TableCautions.Tell(_person, motion);
        if (Shaker.Watchdog is null) { _person.Tell("caution: this table does not stop by itself when this computer or its cable fails: stay within reach of the emergency stop for as long as it is on"); }
        if (!_interlockAnswers) { await TableCautions.AskAsync(_person, Session.IsGainUnknown
            ? "type move to let it move; what a volt makes is not known, so that it begins as if it were the most that it can be, and rises until the reference feels it"
            : $"type move to let it move first {first}", "move", stop).ConfigureAwait(false); }
        Session.Arm();
        if (_history is not null) { _kept = _history.KeepAsync(() => Session.Moved, _over.Token); }
    }

    /// <summary>
    /// After the first motion: asks for leave for the rest. Whoever is asked may look, and reach: until they have answered the
    /// table is at rest and not armed.
    /// </summary>
    /// <exception cref="ShakerException">It does not come to rest, is not at rest after the answer, or the person did not say
    /// yes.</exception>
    public async Task AskToGoOnAsync(string question, CancellationToken stop)
    {
        if (_interlockAnswers) { return; }
        await Sines.RestAsync().ConfigureAwait(false);
        if (Session.Status().State == TableState.Armed)
        {
            question = "this controller stays armed after a stop: keep away from the table; " + question;
        }
        lock (_log) { _log.Flush(); }
        await TableCautions.AskAsync(_person, question, "go", stop).ConfigureAwait(false);
        Session.Arm();
    }

    public async ValueTask DisposeAsync()
    {
        try
        {
            if (Session.WasArmed)
            {
                await Sines.RestAsync().ConfigureAwait(false);
                _person.Tell("the table was told to stop, and says that it is at rest");
            }
        }
        catch (ShakerException fault) { _person.Warn(fault.Message); }
        await _over.CancelAsync().ConfigureAwait(false);
        try { await _kept.ConfigureAwait(false); }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { _person.Warn($"how long the table moved could not be kept for the next call: {fault.Message}"); }
        Session.Dispose();
        _history?.Dispose();
        _lock.Dispose();
        _over.Dispose();
        lock (_log) { _log.Dispose(); }
    }
}
