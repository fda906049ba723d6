using System.Globalization;
using HilRunner.Application.Batches;

namespace HilRunner.Application.Tables;

/// <summary>What a table makes of the scenarios that it is to play, said before it moves.</summary>
internal static class TableWords
{
    private const int MostStretches = 3;

    public static void Tell(IOperator person, IReadOnlyList<(string Scenario, TableItem Item)> items)
    {
        foreach (var (scenario, item) in items.DistinctBy(i => (i.Scenario, i.Item)))
        {
            foreach (string line in Lines(item)) { person.Tell($"{scenario}: {line}"); }
        }
    }

    private static IEnumerable<string> Lines(TableItem item)
    {
        var (built, loss) = (item.Built, item.Loss);
        string scaled = built.Scale == 1 ? "" : Text($", made {built.Scale:0.###} times as large to fit"), cut = built.FromHz == item.Shaker.Envelope.FromHz ? "" : ", its lowest frequencies left out to fit";
        yield return Text($"along {item.Shaker.Axis} the table makes {loss.MadeG:0.###} g rms of {loss.WantedG:0.###} g, {built.FromHz:0.##} Hz to {built.ToHz:0.##} Hz{scaled}{cut}; {loss.ErrorG:0.###} g rms are missing or wrong");
        string[] bands = [.. loss.Bands.Where(b => b.WantedG > 0.01 && b.MadeG < b.WantedG / 2).Select(b => Text($"{b.FromHz:0.##}–{b.ToHz:0.##} Hz ({b.WantedG:0.###} g)"))];
        if (bands.Length > 0) { yield return $"mostly lost: {string.Join(", ", bands)}"; }
        var others = item.Others.Where(o => o.RmsG > 0.01).ToList();
        if (others.Count > 0) { yield return $"lost, since the table moves along {item.Shaker.Axis} alone: {string.Join(", ", others.Select(o => Text($"{o.Channel} {o.RmsG:0.###} g rms")))}"; }
        if (loss.Lost.Count > 0)
        {
            string more = loss.Lost.Count > MostStretches ? $" and {loss.Lost.Count - MostStretches} more stretches" : "";
            yield return $"more than half of the motion is missing or wrong at {string.Join(", ", loss.Lost.Take(MostStretches).Select(s => Text($"{s.FromS:0.#}–{s.ToS:0.#} s")))}{more}";
        }
        if (item.Model is null) { yield return "whether the device would see the same classes is not known: give its model with --host-model"; }
        else if (!item.Trials.Any(t => t.Injected != t.OnTable)) { yield return "the host's model sees the same classes on the table as injected"; }
        foreach (var trial in item.Trials.Where(t => t.Injected != t.OnTable)) { yield return $"the host's model sees trial {trial.Trial}, {trial.Expected}, as {trial.OnTable ?? "nothing"} on the table and as {trial.Injected ?? "nothing"} injected: the table cannot show it"; }
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
