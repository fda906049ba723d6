using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>What a shape says of itself: enough for the JSON Schema and for the tables of the docs.</summary>
internal interface IShape
{
    /// <summary>What is expected, as it ends the sentence "expected …".</summary>
    string Form { get; }
    /// <summary>The same for the docs: with ranges, without lists that stand elsewhere.</summary>
    string Brief { get; }
    /// <summary>JSON Schema (draft 2020-12). The reader may refuse more than it, never less.</summary>
    JsonObject Schema(SchemaParts parts);
    /// <summary>The values inside.</summary>
    IEnumerable<Part> Parts { get; }
    /// <summary>Heading of its own table in the docs; null: it stands in the table of what holds it.</summary>
    string? Title { get; }
}

/// <param name="Suffix">What is added to the path: <c>.key</c>, <c>[]</c> or nothing for another form of the same value.</param>
/// <param name="Key">Null: no key of its own.</param>
internal sealed record Part(string Suffix, IKey? Key, IShape Shape);

/// <summary>
/// The description of a value in a document. Reader, JSON Schema and docs all follow from it, so that no key is listed twice.
/// </summary>
internal abstract class Shape<T> : IShape
{
    public abstract string Form { get; }
    public abstract JsonObject Schema(SchemaParts parts);
    public virtual IEnumerable<Part> Parts => [];
    public virtual string? Title => null;
    public virtual string Brief => Form;

    /// <summary>False: not usable, and at least one fault was added that says why.</summary>
    public abstract bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out T value);

    /// <summary>Converts and checks; a fault added by <paramref name="convert"/> makes the value unusable.</summary>
    public Shape<TResult> Select<TResult>(Func<T, Node, Reading, TResult> convert, string? form = null) =>
        new SelectShape<T, TResult>(this, convert, form ?? Form);

    public Shape<TResult> Select<TResult>(Func<T, TResult> convert, string? form = null) =>
        Select((value, _, _) => convert(value), form);

    protected bool Refuse(Node node, Reading reading, [MaybeNullWhen(false)] out T value, string? found = null, string remedy = "")
    {
        reading.Refuse(node, found ?? node.Shown, Form, remedy);
        value = default;
        return false;
    }
}

/// <summary>What the reading of one document carries along.</summary>
/// <param name="Folder">Paths in the document are relative to this folder.</param>
/// <param name="Stored">The text comes from a stored run: the files that it names need not be there.</param>
internal sealed record Reading(DocumentFaults Faults, string Folder, bool Stored)
{
    public void Refuse(Node node, string found, string expected, string remedy = "") =>
        Faults.Add(node, node.Path.Length == 0 ? found : $"{node.Path} is {found}", expected, remedy);

    /// <summary>The path as seen from the working directory.</summary>
    public string Resolve(string path) => Path.IsPathRooted(path) || Folder.Length == 0 ? path : Path.Combine(Folder, path);
}

internal sealed class SelectShape<T, TResult>(Shape<T> inner, Func<T, Node, Reading, TResult> convert, string form) : Shape<TResult>
{
    public override string Form => form;
    public override string Brief => inner.Form == form ? inner.Brief : form;
    public override JsonObject Schema(SchemaParts parts) => inner.Schema(parts);
    public override IEnumerable<Part> Parts => inner.Parts;
    public override string? Title => inner.Title;

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out TResult value)
    {
        value = default;
        if (!inner.TryRead(node, reading, out T? read)) { return false; }
        long before = reading.Faults.Count;
        value = convert(read, node, reading);
        return reading.Faults.Count == before;
    }
}
