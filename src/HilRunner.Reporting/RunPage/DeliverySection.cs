using HilRunner.Core.Runs;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>
/// Whether what was played arrived, and what the device said: both ways, each with its evidence, the deciding one first.
/// </summary>
internal static class DeliverySection
{
    public static void Write(HtmlPage page, StoredRun run)
    {
        page.Add($"<section aria-labelledby=\"delivery\"><h2 id=\"delivery\">Delivery</h2>\n<div>\n");
        if (run.Score.Delivery is { } delivery) { Of(page, delivery); }
        else { page.Add($"<p>Not known: this score does not say whether everything arrived ({DeliveryWords.Earlier}).</p>\n"); }
        page.Add($"</div></section>\n");
    }

    private static void Of(HtmlPage page, Delivery delivery)
    {
        page.Add($"<p>{DeliveryWords.Sentence(delivery)}</p>\n");
        if (delivery.Outcome == DeliveryOutcome.NotNeeded) { return; }
        page.Table("Both ways of the link, the deciding evidence first",
            ["Way", "Outcome", "Evidence", "Says", "Expected", "Seen", "What it found"],
            Rows("samples, to the device", delivery.ToDevice).Concat(Rows("messages, from the device", delivery.FromDevice)),
            "limits delivery");
        if (delivery.CountOnly)
        {
            page.Add($"<p class=\"quiet\">Count only: no check sum guards what is sent, so that it is known how many arrived, and not that each arrived as it was sent.</p>\n");
        }
        if (delivery.AliveUntil is { } until)
        {
            page.Add($"<p>The device was last heard at {Figure.At(until.Ns)}: nothing shows that it was alive after that.</p>\n");
        }
        if (delivery.Advice.Length > 0) { page.Add($"<p class=\"notice\"><b>To have it shown:</b> {delivery.Advice}</p>\n"); }
    }

    private static IEnumerable<Markup> Rows(string name, DeliveryWay way)
    {
        string css =
            way.Outcome switch { DeliveryOutcome.NotDelivered => "bad", DeliveryOutcome.NotShown => "uncounted", _ => "" };
        int rows = Math.Max(1, way.Evidence.Count);
        Markup head = Markup.Of(
            $"<th scope=\"row\" rowspan=\"{rows}\">{name}</th><td rowspan=\"{rows}\"><span class=\"outcome\">{Delivery.Word(way.Outcome)}</span></td>");
        if (way.Evidence.Count == 0)
        {
            yield return Markup.Of(
                $"<tr class=\"{css}\">{head}<td colspan=\"5\">none: nothing that the rig file describes counts them</td></tr>");
        }
        foreach (var (evidence, i) in way.Evidence.Select((e, i) => (e, i)))
        {
            // The way and its outcome stand once, beside the evidence that decided.
            yield return Markup.Of(
                $"<tr class=\"{(i == 0 ? css : "")}\">{(i == 0 ? head : Markup.Empty)}<td>{evidence.Source}</td><td>{Says(evidence.Finding)}</td><td class=\"n\">{Number(evidence.Expected)}</td><td class=\"n\">{Number(evidence.Seen)}</td><td>{evidence.Text}</td></tr>");
        }
    }

    private static string Says(DeliveryFinding finding) => finding switch
    {
        DeliveryFinding.Proves => "proves it",
        DeliveryFinding.Disproves => "disproves it",
        _ => "agrees, proves nothing",
    };

    private static Markup Number(long? count) => count is { } n ? Markup.Of($"{n}") : HtmlPage.Absent("it counts nothing");
}
