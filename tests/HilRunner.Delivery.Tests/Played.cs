using System.Text.Json;

namespace HilRunner.Delivery.Tests;

/// <summary>One case as it was played: what the product says of it, read without the product, and the truth.</summary>
internal sealed record Played(FaultCase Case, string Folder, JsonElement Score, int Heard, Truth Truth)
{
    public string Verdict => Score.GetProperty("verdict").GetString()!;

    /// <summary>delivered, not delivered, not shown, or "none" in a score that knows nothing of it.</summary>
    public string Outcome => Way(null);

    public string ToDevice => Way("to_device");

    public string FromDevice => Way("from_device");

    public bool CountOnly => Score.GetProperty("delivery").GetProperty("count_only").GetBoolean();

    public IEnumerable<string> Notes => Texts("notes");

    public int Resets => Score.GetProperty("device").GetProperty("resets").GetInt32();

    public int Silences => Score.GetProperty("device").GetProperty("silences").GetInt32();

    public override string ToString()
    {
        string done =
            string.Join(", ", Truth.Faults.GroupBy(f => $"{f.Kind} {f.Direction}").Select(g => $"{g.Key} × {g.Count()}"));
        return $"""
            {Case}
                {Verdict}, {Outcome} (to the device {ToDevice}, from it {FromDevice}); sent {Truth.Sent}, felt {Truth.Felt.Count}, said {Truth.Said}, heard {Heard}
                done: {(done.Length > 0 ? done : "nothing")}
                reasons: {string.Join(" | ", Texts("reasons"))}
                notes: {string.Join(" | ", Notes)}
                {Folder}
            """;
    }

    private string Way(string? name)
    {
        if (!Score.TryGetProperty("delivery", out var delivery) || delivery.ValueKind == JsonValueKind.Null) { return "none"; }
        return (name is null ? delivery : delivery.GetProperty(name)).GetProperty("outcome").GetString()!;
    }

    private IEnumerable<string> Texts(string name) =>
        Score.TryGetProperty(name, out var list) ? list.EnumerateArray().Select(e => e.GetString()!) : [];
}
