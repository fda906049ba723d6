namespace HilRunner.Core.Documents;

/// <summary>Writes block-style YAML, key by key; a null value writes nothing.</summary>
internal sealed class YamlLines(TextWriter output, int indent = 0)
{
    private string _lead = new(' ', indent);

    public void Text(string key, string? value) => Raw(key, value is null ? null : YamlText.Inline(value));

    /// <param name="key">The key.</param>
    /// <param name="value">As it stands in the file.</param>
    public void Raw(string key, string? value)
    {
        if (value is not null) { Line($"{key}: {value}\n"); }
    }

    /// <summary>A literal block where the text allows one.</summary>
    public void Block(string key, string value) => Line($"{key}: {YamlText.Block(value, indent + 2) ?? YamlText.Inline(value) + "\n"}");

    public void Map(string key, Action<YamlLines> write)
    {
        Line($"{key}:\n");
        write(new(output, indent + 2));
    }

    public void List<T>(string key, IReadOnlyCollection<T> items, Action<YamlLines, T> write)
    {
        if (items.Count == 0) { return; }
        Line($"{key}:\n");
        foreach (T item in items) { write(new(output, indent + 4) { _lead = new string(' ', indent + 2) + "- " }, item); }
    }

    private void Line(string text)
    {
        output.Write(_lead);
        output.Write(text);
        _lead = new(' ', indent);
    }
}
