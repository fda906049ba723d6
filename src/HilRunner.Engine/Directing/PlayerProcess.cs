using System.Diagnostics;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;

namespace HilRunner.Engine.Directing;

/// <summary>
/// The parent's end: one player process for one rig. Closing its pipe is the one command that it needs: it then ends the run
/// under way, keeps the capture whole and leaves.
/// </summary>
public sealed class PlayerProcess : IDisposable
{
    private static readonly TimeSpan s_leave = TimeSpan.FromSeconds(10);
    private readonly Process _process;
    private readonly Task<string> _errors;
    private bool _closed;

    private PlayerProcess(Process process)
    {
        _process = process;
        _errors = process.StandardError.ReadToEndAsync();
    }

    public int Id => _process.Id;

    /// <param name="command">Program and arguments that start a player.</param>
    public static PlayerProcess Start(IReadOnlyList<string> command, PlayerOrder order)
    {
        var start = new ProcessStartInfo(command[0])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
        };
        foreach (string argument in command.Skip(1)) { start.ArgumentList.Add(argument); }
        var player = new PlayerProcess(Process.Start(start)!);
        player.Tell(pipe => PlanPipe.Write(pipe, order));
        return player;
    }

    /// <summary>Hands a plan over and waits for its end. Never throws for what becomes of the player.</summary>
    /// <param name="plan">Its folder must exist.</param>
    /// <param name="stop">Ends the run early; what was captured stays.</param>
    public async Task<(string Cause, string Message)> PlayAsync(PlayPlan plan, CancellationToken stop)
    {
        using var registration = stop.Register(Close);
        Tell(pipe => PlanPipe.Write(pipe, plan));
        string? line = await _process.StandardOutput.ReadLineAsync(CancellationToken.None).ConfigureAwait(false);
        if (line is null)
        {
            await _process.WaitForExitAsync(CancellationToken.None).ConfigureAwait(false);
            string errors = (await _errors.ConfigureAwait(false)).Trim();
            return (EndCause.PlayerGone, $"the player process ended (exit code {_process.ExitCode}){(errors.Length == 0 ? "" : ": " + errors)}");
        }
        string[] words = line.Split(' ', 3);
        return words.Length >= 2 && words[0] == "ended"
            ? (words[1], words.Length == 3 ? words[2] : "")
            : (EndCause.PlayerGone, $"the player said something unknown: {line}");
    }

    public bool HasExited => _process.HasExited;

    public void Dispose()
    {
        Close();
        if (!_process.WaitForExit(s_leave)) { _process.Kill(entireProcessTree: true); }
        _process.Dispose();
    }

    private void Close()
    {
        if (Interlocked.Exchange(ref _closed, true)) { return; }
        try { _process.StandardInput.Close(); }
        catch (IOException)
        {
            // The player is gone already; its missing answer says so.
        }
    }

    private void Tell(Action<Stream> write)
    {
        try
        {
            write(_process.StandardInput.BaseStream);
            _process.StandardInput.BaseStream.Flush();
        }
        catch (Exception gone) when (gone is IOException or ObjectDisposedException)
        {
            // As above: the answer that does not come is the report.
        }
    }
}
