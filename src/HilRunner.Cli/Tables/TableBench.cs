using System.Globalization;
using HilRunner.Cli.Benches;
using HilRunner.Cli.Commands;
using HilRunner.Cli.Recorders;
using HilRunner.Cli.Screen;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Shaking;
using HilRunner.Transport.Locks;

namespace HilRunner.Cli.Tables;

/// <summary>
/// A rig's table while a command moves it. It moves nothing before a person at the terminal, or an interlock, has said yes, and however the command ends it is brought to rest.
/// </summary>
internal sealed class TableBench : IAsyncDisposable
{
    private readonly StreamWriter _log;
    private readonly bool _interlockAnswers;
    private readonly RigLock _lock;
    private readonly TableHistory? _history;
    private readonly CancellationTokenSource _over = new();
    private Task _kept = Task.CompletedTask;

    /// <param name="interlockAnswers">Nobody is asked: an interlock answers.</param>
    /// <exception cref="Core.Links.LinkException">The controller's link cannot be opened, or another call drives this table.</exception>
    public TableBench(Rig rig, bool interlockAnswers, string logPath)
    {
        (Shaker, _interlockAnswers) = (rig.Shaker!, interlockAnswers);
        // One table may carry the devices of several rigs.
        _lock = RigLock.Take(Shaker.Link, $"the table of rig {rig.Name}");
        _history = RigLock.NoteOn(Shaker.Link, "moved") is { } note ? new(note) : null;
        uint? by = null;
        var before = _history?.Read(Shaker.Envelope.Rest, out by) ?? default;
        if (by is { } user && user != LockHolder.ThisUser)
        {
            Console.Error.WriteLine(
                string.Create(CultureInfo.InvariantCulture,
                    $"the table of rig {rig.Name} has moved for {before.MovedS:0} s without a rest, as a call of user {user} has noted"));
        }
        _log = PlainFile.CreateText(logPath);
        Session = new(Shaker, Composition.Links.Open, Composition.Clock, line => { lock (_log)
        {
            _log.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{Composition.Clock.Now.Ns / 1e9:0.0000} {line}"));
        }
        }, before);
        Sines = new(Session, Shaker.Envelope, Composition.Clock);
    }

    public Shaker Shaker { get; }

    public ShakerSession Session { get; }

    public SineDrive Sines { get; }

    /// <summary>Everything of a command line that can be refused before the table is spoken to.</summary>
    /// <param name="interlockAnswers">Whether an interlock answers instead of a person; null: nothing is moved.</param>
    /// <exception cref="UsageException">The rig has no table, or nobody could say that it may move.</exception>
    public static void Check(Rig rig, bool? interlockAnswers, string speed)
    {
        if (rig.Shaker is null) { throw new UsageException($"--shaker: rig {rig.Name} has no shaker; rigs/README.md says how to describe one"); }
        if (speed.Length > 0) { throw new UsageException("--speed: a table moves in real time: leave --speed out"); }
        if (interlockAnswers == true
            && rig.Shaker.Watchdog is null) { throw new UsageException($"{TableOptions.Name}: rig {rig.Name}'s table does not stop by itself when this computer fails (shaker.watchdog): it is not driven unless somebody stands by it: leave {TableOptions.Name} out"); }
        if (interlockAnswers == false
            && !KeyReader.HasTerminal) { throw new UsageException($"--shaker: nobody is at a terminal to say that the table may move; with an interlock that answers for them say {TableOptions.Name}"); }
    }

    /// <summary>What moves, and how it is stopped, for whoever stands by.</summary>
    public static void Tell(string moves) => Console.Error.WriteLine($"{moves}; Ctrl-C stops it");

    /// <summary>Says what will move, asks for leave, and arms it.</summary>
    /// <param name="first">How low it moves first.</param>
    /// <exception cref="ShakerException">It is not the right one or not at rest; or the person did not say yes.</exception>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    public async Task ArmAsync(string motion, string first, CancellationToken stop)
    {
        Session.Identify();
        TableCautions.Print(motion);
        if (Shaker.Watchdog is null) { Console.Error.WriteLine("caution: this table does not stop by itself when this computer or its cable fails: stay within reach of the emergency stop for as long as it is on"); }
        if (!_interlockAnswers) { await TableCautions.AskAsync(Session.IsGainUnknown
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
        await TableCautions.AskAsync(question, "go", stop).ConfigureAwait(false);
        Session.Arm();
    }

    public async ValueTask DisposeAsync()
    {
        try
        {
            if (Session.WasArmed)
            {
                await Sines.RestAsync().ConfigureAwait(false);
                Console.Error.WriteLine("the table was told to stop, and says that it is at rest");
            }
        }
        catch (ShakerException fault) { Console.Error.WriteLine($"hil: {fault.Message}"); }
        await _over.CancelAsync().ConfigureAwait(false);
        try { await _kept.ConfigureAwait(false); }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { Console.Error.WriteLine($"hil: how long the table moved could not be kept for the next call: {fault.Message}"); }
        Session.Dispose();
        _history?.Dispose();
        _lock.Dispose();
        _over.Dispose();
        lock (_log) { _log.Dispose(); }
    }
}
