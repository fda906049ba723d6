using System.Globalization;
using HilRunner.Cli.Recorders;
using HilRunner.Cli.Screen;
using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli.Tables;

/// <summary>
/// A rig's table while a command moves it. It moves nothing before a person at the terminal, or an interlock, has said yes, and however the command ends it is brought to rest.
/// </summary>
internal sealed class TableBench : IAsyncDisposable
{
    private readonly StreamWriter _log;
    private readonly bool _armed;

    /// <param name="armed">Nobody is asked: an interlock answers.</param>
    /// <exception cref="Core.Links.LinkException">The controller's link cannot be opened.</exception>
    public TableBench(Rig rig, bool armed, string logPath)
    {
        (Shaker, _armed) = (rig.Shaker!, armed);
        var link = Composition.Links.Open(Shaker.Link);
        _log = File.CreateText(logPath);
        Session = new(Shaker, link, Composition.Clock, line => { lock (_log) { _log.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{Composition.Clock.Now.Ns / 1e9:0.0000} {line}")); } });
        Sines = new(Session, Shaker.Envelope, Composition.Clock);
    }

    public Shaker Shaker { get; }

    public ShakerSession Session { get; }

    public SineDrive Sines { get; }

    /// <summary>Everything of a command line that can be refused before the table is spoken to.</summary>
    /// <exception cref="UsageException">The rig has no table, or nobody could say that it may move.</exception>
    public static void Check(Rig rig, bool armed, string speed)
    {
        if (rig.Shaker is null) { throw new UsageException($"--shaker: rig {rig.Name} has no shaker; rigs/README.md says how to describe one"); }
        if (speed.Length > 0) { throw new UsageException("--speed: a table moves in real time: leave --speed out"); }
        if (!armed && !KeyReader.HasTerminal) { throw new UsageException("--shaker: nobody is at a terminal to say that the table may move; with an interlock that answers for them say --armed"); }
    }

    /// <summary>Says what will move, asks for leave, and arms it.</summary>
    /// <exception cref="ShakerException">It is not the right one or not at rest; or the person did not say yes.</exception>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    public async Task ArmAsync(string motion, CancellationToken stop)
    {
        Session.Identify();
        TableCautions.Print(motion);
        if (!_armed) { await TableCautions.AskAsync("type move to let it move at a low level first", "move", stop).ConfigureAwait(false); }
        Session.Arm();
    }

    /// <summary>After the first motion: asks for leave for the rest.</summary>
    public Task AskToGoOnAsync(string question, CancellationToken stop) => _armed ? Task.CompletedTask : TableCautions.AskAsync(question, "go", stop);

    public async ValueTask DisposeAsync()
    {
        try { if (Session.WasArmed) { await Sines.RestAsync().ConfigureAwait(false); } }
        catch (ShakerException fault) { Console.Error.WriteLine($"hil: {fault.Message}"); }
        Session.Dispose();
        lock (_log) { _log.Dispose(); }
    }
}
