using System.Globalization;
using HilRunner.Core.Files;

namespace HilRunner.Application.Reproducing;

/// <summary>
/// answers.csv: every question that was put by playing, and its answer, in order (<c>question,shown</c>), each line written before the next question is put. A call that goes on with a case asks none of
/// them again.
/// </summary>
internal sealed class Answers(string path)
{
    private readonly Dictionary<string, Queue<bool>> _known = Read(path);

    /// <summary>What was answered by an earlier call; null: it has to be asked.</summary>
    public bool? Known(string question) => _known.TryGetValue(question, out var answers) && answers.TryDequeue(out bool shown) ? shown : null;

    public void Add(string question, bool shown) =>
        PlainFile.AppendText(path, string.Create(CultureInfo.InvariantCulture, $"{question},{(shown ? 1 : 0)}\n"));

    private static Dictionary<string, Queue<bool>> Read(string path)
    {
        var known = new Dictionary<string, Queue<bool>>(StringComparer.Ordinal);
        if (!PlainFile.IsThere(path)) { return known; }
        foreach (string line in PlainFile.ReadText(path).Split('\n'))
        {
            int comma = line.LastIndexOf(',');
            // A line that a kill cut off is no answer.
            if (comma <= 0 || line[(comma + 1)..] is not ("0" or "1")) { continue; }
            if (!known.TryGetValue(line[..comma], out var answers)) { known[line[..comma]] = answers = new(); }
            answers.Enqueue(line.EndsWith('1'));
        }
        return known;
    }
}
