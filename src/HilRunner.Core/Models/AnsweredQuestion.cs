namespace HilRunner.Core.Models;

/// <summary>One question of a model's tree, and how a window answered it.</summary>
/// <param name="Feature">As the model file names it, such as <c>deviation(main)</c>.</param>
/// <param name="Value">In counts, or as the README beside this file defines the statistic.</param>
/// <param name="Below">The threshold: the answer is yes when the value lies below it.</param>
public sealed record AnsweredQuestion(string Feature, int Value, int Below)
{
    public bool Yes => Value < Below;

    /// <summary>The classes that lie on the branch that was not taken.</summary>
    public required IReadOnlySet<string> Otherwise { get; init; }

    /// <summary>
    /// The questions that the window which ends with a sample was asked, root first. Empty where no whole window lies before it.
    /// </summary>
    /// <param name="counts">[channel][sample], in the model's order of channels.</param>
    /// <param name="sample">Index into <paramref name="counts"/>; what is before it is run first, since an event starts the window anew.</param>
    public static IReadOnlyList<AnsweredQuestion> At(MotionModel model, IReadOnlyList<int[]> counts, int sample)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(counts);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(sample, counts[0].Length);
        var runner = new ModelRunner(model);
        int[] one = new int[counts.Count];
        for (int n = 0; n <= sample; n++)
        {
            for (int c = 0; c < one.Length; c++) { one[c] = counts[c][n]; }
            runner.Push(n, one, out _);
        }
        if (runner.Filled < model.Window) { return []; }
        var series = Models.Feature.SeriesNames(model.Channels.Select(c => c.Name));
        var questions = new List<AnsweredQuestion>();
        for (int node = 0; !model.Tree[node].IsLeaf;)
        {
            var question = model.Tree[node];
            int value = runner.Value(question.Feature);
            // A window that was classified left each threshold where it answers in the same way again.
            int below = runner.Threshold(node);
            bool yes = value < below;
            questions.Add(new(question.Feature.Named(series), value, below) { Otherwise = Classes(model, yes ? question.Else : question.Then) });
            node = yes ? question.Then : question.Else;
        }
        return questions;
    }

    private static HashSet<string> Classes(MotionModel model, int node)
    {
        var found = new HashSet<string>(StringComparer.Ordinal);
        var waiting = new Stack<int>([node]);
        while (waiting.TryPop(out int next))
        {
            var one = model.Tree[next];
            if (one.IsLeaf) { found.Add(model.Classes[one.Class]); }
            else
            {
                waiting.Push(one.Then);
                waiting.Push(one.Else);
            }
        }
        return found;
    }
}
