using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Shakers;

namespace HilRunner.Cli.Tables;

/// <summary>
/// How long a table has moved, kept from one call to the next beside its lock: what limits its motion is its heat, and that does not begin anew with a process. Kept every few seconds, so that a call that was killed is in it.
/// </summary>
internal sealed class TableHistory(string path)
{
    private static readonly TimeSpan s_often = TimeSpan.FromSeconds(5);

    /// <summary>What is not there, or damaged, is nothing.</summary>
    public MovedBefore Read()
    {
        try
        {
            string[] words = File.ReadAllText(path).Split(' ');
            if (words.Length == 2 && Number(words[0], out double unixS) && Number(words[1], out double movedS) && movedS >= 0)
            {
                // It may have moved on for as long after it was written.
                return new(movedS, Math.Max(0, NowS - unixS - s_often.TotalSeconds));
            }
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { }
        return default;
    }

    /// <summary>To be called over and over while it is armed, until it is cancelled.</summary>
    public async Task KeepAsync(Func<MovedBefore> moved, CancellationToken stop)
    {
        while (!stop.IsCancellationRequested)
        {
            Write(moved());
            try { await Task.Delay(s_often, Composition.Clock.Provider, stop).ConfigureAwait(false); }
            catch (OperationCanceledException) { }
        }
        Write(moved());
    }

    private static double NowS => Composition.Clock.ToUnixNs(Composition.Clock.Now) / 1e9;

    private void Write(MovedBefore moved) =>
        AtomicFile.WriteText(path, writer => writer.Write(string.Create(CultureInfo.InvariantCulture, $"{NowS - moved.RestedForS:0.000} {moved.MovedS:0.000}")));

    private static bool Number(string text, out double value) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && double.IsFinite(value);
}
